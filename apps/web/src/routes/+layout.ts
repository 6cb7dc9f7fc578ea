/** Every page is drawn in the browser, from the API's answers. */
export const ssr = false;
export const prerender = false;

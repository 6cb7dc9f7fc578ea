/** What a policy in the page cannot say, and always holds (CSP Level 3, §3.3: a meta element's is ignored). */
const ONLY_BY_HEADER = "frame-ancestors 'none'";

/** Where the page brings no policy of its own. */
export const OWN_POLICY = `default-src 'self'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; manifest-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; ${ONLY_BY_HEADER}`;

/**
 * The content security policy to send with a built page. Its build knows the hashes of its inline parts and writes them
 * into the page; the header says the same, so that neither is stricter than what works, and adds what only a header can.
 *
 * @param html the built page
 * @returns one line for the header Content-Security-Policy
 */
export function documentPolicy(html: string): string {
  const meta = /<meta\s+http-equiv="content-security-policy"\s+content="([^"]*)"/i.exec(html)?.[1];
  if (meta === undefined) return OWN_POLICY;
  const brought = meta.replaceAll('&#39;', "'").replaceAll('&amp;', '&').trim().replace(/;$/, '');
  return `${brought}; ${ONLY_BY_HEADER}`;
}

/** What size a site needs: for the screen that answers it, and for whoever plans a node. */
export { DEFAULT_CLIMATE_SOURCE, defaultClimate, type SiteClimate } from './default-climate.ts';
export {
  type DesignPair,
  type SizedMonth,
  type SizedSite,
  sizeSite,
  type SizingInputs,
} from './size-site.ts';

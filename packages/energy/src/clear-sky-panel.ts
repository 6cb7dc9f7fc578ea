import { createPanelChain, type PanelChainInputs } from './panel-chain.ts';

/**
 * Power of the nominal panel at one instant under a cloudless sky: P_ref, the yardstick of the yield ratio.
 *
 * @param inputs  site, panel and instant; with `clearSkyIndex` the same under cloud
 * @returns W at the panel's best working point, after REFERENCE_DERATE; 0 when the sun is down
 * @throws EnergyInputError when an input is out of range
 * @accuracy each link has its own reference test; the whole is a yardstick, its error is absorbed by the yield ratio
 * @source ours: chain of §3–6 functions, see README
 */
export function clearSkyPanelW(inputs: PanelChainInputs & { readonly atMs: number }): number {
  return createPanelChain(inputs)(inputs.atMs);
}

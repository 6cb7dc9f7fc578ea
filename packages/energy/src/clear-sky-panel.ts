import { createPanelChain, type PanelChainInputs } from './panel-chain.ts';

/**
 * Power of the nominal panel at one instant under a cloudless sky: P_ref, the yardstick of the yield ratio.
 *
 * @param inputs  site, panel and instant; with `clearSkyIndex` the same under cloud
 * @returns W at the panel's best working point, after REFERENCE_DERATE; 0 when the sun is down
 * @throws EnergyInputError when an input is out of range
 * @accuracy 0.5 % of the rated power against a second writing of the chain (240 instants), test/reference/energy/whole-chain.test.ts
 * @source ours: the functions it calls, in the order of PVWatts (Dobos 2014)
 */
export function clearSkyPanelW(inputs: PanelChainInputs & { readonly atMs: number }): number {
  return createPanelChain(inputs)(inputs.atMs);
}

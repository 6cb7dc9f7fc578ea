import { SECOND_MS, type FieldNode, type Site } from '@duskline/domain';
import {
  apparentElevationDeg,
  clearSky,
  DEFAULT_LINKE_TURBIDITY,
  extraterrestrialNormalWm2,
  pressurePa,
  sunPosition,
} from '@duskline/energy';
import { assessSamples, limitsOverTime, maxGapS, type Surroundings } from '@duskline/quality';
import type { QualityCheck, Store } from '@duskline/store';

/**
 * The tests of a node's readings, with the limits in force at their time and the sun of its site.
 *
 * @throws Error when the node or its site is gone
 */
export async function prepareQualityCheck(
  store: Pick<Store, 'sites' | 'nodes' | 'qualityLimits'>,
  nodeId: FieldNode['id'],
): Promise<QualityCheck> {
  const node = await store.nodes.find(nodeId);
  const site = node && (await store.sites.find(node.siteId));
  if (node === undefined || site === undefined) throw new Error(`There is no node ${nodeId}.`);
  const limits = limitsOverTime(await store.qualityLimits.inForce(nodeId));
  const surroundings = surroundingsOf(node, site);
  return {
    reachMs: limits.reachS * SECOND_MS,
    gapMs: maxGapS(surroundings) * SECOND_MS,
    check: (samples, span) => assessSamples(samples, limits, surroundings, span),
  };
}

/** For refraction only, which moves a low sun by hundredths of a degree between frost and heat. */
const AIR_C = 10;
const RIGHT_ANGLE_DEG = 90;

function surroundingsOf({ power }: FieldNode, { position }: Site): Surroundings {
  const { latitudeDeg, longitudeDeg, elevationM } = position;
  const airPressurePa = pressurePa(elevationM);
  const sunElevationDeg = (atMs: number) =>
    RIGHT_ANGLE_DEG - sunPosition(atMs, latitudeDeg, longitudeDeg).zenithDeg;
  return {
    usualGapS: power.usualGapS,
    sunElevationDeg,
    clearSkyWPerM2(atMs) {
      const seenDeg = apparentElevationDeg(sunElevationDeg(atMs), airPressurePa, AIR_C);
      return clearSky({
        apparentZenithDeg: RIGHT_ANGLE_DEG - seenDeg,
        elevationM,
        linkeTurbidity: DEFAULT_LINKE_TURBIDITY,
        extraterrestrialWm2: extraterrestrialNormalWm2(atMs),
      }).ghiWm2;
    },
  };
}

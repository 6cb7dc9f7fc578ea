import type { FieldNode, NodeName, SiteId } from '@duskline/domain';
import type { Store } from '@duskline/store';

/** A site and its node, of one name, for tests on a database: 20 W of panel, 150 Wh of LiFePO4, a reading every five minutes unless said. */
export async function createTestNode(
  store: Store,
  name: string,
  commissionedAtMs: number,
  { usualGapS = 300 }: { readonly usualGapS?: number } = {},
): Promise<FieldNode> {
  await store.sites.create({
    id: name as SiteId,
    name,
    position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 120 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  return store.nodes.create(
    {
      name: name as NodeName,
      siteId: name as SiteId,
      commissionedAtMs,
      power: {
        panel: { ratedW: 20, tiltDeg: 68, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS,
      },
    },
    new Uint8Array(32),
  );
}

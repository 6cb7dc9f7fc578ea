import type { PowerSystem } from '@duskline/domain';
import { fleet, type SimulatedSite } from '@duskline/simulator';

/** What is different at a site of the drill from a usual site of the catchment. */
export interface SiteWish {
  readonly id: string;
  readonly name: string;
  /** Place in the catchment: where it lies and which clouds of its own it has. */
  readonly place: number;
  readonly panelW?: number;
  readonly battery?: Partial<PowerSystem['battery']>;
  readonly power?: Partial<PowerSystem>;
  readonly loadW?: number;
  readonly sensor?: SimulatedSite['sensor'];
  /** Share of what is printed on the battery that it holds. */
  readonly holds?: number;
  readonly drill?: SimulatedSite['drill'];
}

/** A site of the invented catchment as the drill needs it; only its own figures differ. */
export function pretendSite(wish: SiteWish): SimulatedSite {
  const like = fleet[wish.place % fleet.length];
  if (like === undefined) throw new Error('The pretend fleet has no sites.');
  const { drill: _, ...base } = like;
  const drill =
    wish.drill ??
    (wish.holds === undefined
      ? undefined
      : { kind: 'weak-battery' as const, capacityShare: wish.holds });
  return {
    ...base,
    id: wish.id,
    name: wish.name,
    gauge: true,
    housekeeping: true,
    sensor: wish.sensor ?? 'rain',
    loadW: wish.loadW ?? base.loadW,
    power: {
      ...base.power,
      panel: { ...base.power.panel, ratedW: wish.panelW ?? 30 },
      battery: { chemistry: 'lifepo4', ratedWh: 300, seriesCells: 4, ...wish.battery },
      shutDownRatio: 0.1,
      restartRatio: 0.5,
      ...wish.power,
    },
    ...(drill === undefined ? {} : { drill }),
  };
}

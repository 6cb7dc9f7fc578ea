import type { HousekeepingFigures } from '@duskline/alerts';
import type { PowerSeen, SilenceSeen } from '@duskline/diagnosis';
import { MINUTE_MS } from '@duskline/domain';
import type { FleetPulse, Store } from '@duskline/store';
import type { NodeSituation } from '../gather-facts.ts';
import { lastPanelVolts } from './last-panel-volts.ts';
import { brightHours } from './bright-hours.ts';

const LATELY_MS = 30 * MINUTE_MS;

/** Gathers what speaks for or against the causes of a node's silence. */
export async function readSilence(
  store: Store,
  facts: NodeSituation,
  known: { readonly housekeeping: HousekeepingFigures; readonly power: PowerSeen | undefined },
): Promise<SilenceSeen> {
  const { node, nowMs, lastHeardAtMs = nowMs } = facts;
  const [fleet, misdatedMessages, panelV] = await Promise.all([
    node.link === undefined ? Promise.resolve([]) : store.signs.fleet(nowMs),
    store.signs.misdated(node.name, lastHeardAtMs),
    lastPanelVolts(store, facts),
  ]);
  const { housekeeping, power } = known;
  const latest = (metric: string) => facts.latest.find((one) => one.metric === metric)?.value;
  const signalDbm = latest('signal');
  const { data } = housekeeping;
  return {
    ...facts,
    misdatedMessages,
    brightHoursSince: brightHours(facts, lastHeardAtMs, nowMs),
    lastDaylightPanelV: panelV,
    boxOpened: latest('box_open') === 1,
    moved: latest('tilt_move') === 1,
    ...(signalDbm === undefined ? {} : { signalDbm }),
    ...(housekeeping.signalChangeDb === undefined
      ? {}
      : { signalSlopeDbPerDay: housekeeping.signalChangeDb / 14 }),
    ...(data === undefined ? {} : { dataPlan: data }),
    ...(power?.loadChange === undefined ? {} : { lastDayLoadShare: power.loadChange }),
    ...(facts.firstWindow === undefined ? {} : { back: facts.firstWindow }),
    ...linkOf(fleet, facts, lastHeardAtMs),
  };
}

function linkOf(
  fleet: readonly FleetPulse[],
  { node, nowMs }: NodeSituation,
  lastHeardAtMs: number,
): Pick<SilenceSeen, 'link'> {
  const name = node.link;
  if (name === undefined) return {};
  const others = fleet.filter(
    (one) => one.nodeId !== node.id && one.lastHeardAtMs !== undefined && !isExcused(one),
  );
  const same = others.filter((one) => one.link === name);
  const rest = others.filter((one) => one.link !== name);
  const isHeard = (one: FleetPulse) =>
    nowMs - (one.lastHeardAtMs ?? 0) < LATELY_MS + 3 * one.usualGapMs;
  return {
    link: {
      name,
      sameExpected: same.length,
      sameHeard: same.filter(isHeard).length,
      fellSilentTogether: same.filter(
        (one) => !isHeard(one) && Math.abs((one.lastHeardAtMs ?? 0) - lastHeardAtMs) <= LATELY_MS,
      ).length,
      otherExpected: rest.length,
      otherHeard: rest.filter(isHeard).length,
    },
  };
}

/** Dark by its own charge, or off for work: no witness for a link. */
const isExcused = ({ state }: FleetPulse): boolean =>
  state === 'dark-as-designed' || state === 'overdue' || state === 'off-for-work';

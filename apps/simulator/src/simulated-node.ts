import { DAY_MS, HOUR_MS, MINUTE_MS, SECOND_MS, type MetricKey } from '@duskline/domain';
import { stepBatteryTruth, type BatteryFlow, type BatteryTruth } from './battery-truth.ts';
import type { SimulatedSite } from './fleet.ts';
import { readInstruments } from './instruments.ts';
import { sound, type Mishap, type MishapAt } from './mishaps/mishap.ts';
import type { SettingsAnswer } from './settings-answer.ts';
import { normalAt, randomAt, seedOf } from './random.ts';
import type { Surroundings, SurroundingsAt } from './surroundings.ts';

/** What the node did in one step. */
export type NodeEvent =
  | { readonly kind: 'hello'; readonly atMs: number }
  | { readonly kind: 'farewell'; readonly atMs: number; readonly chargeRatio: number }
  | {
      readonly kind: 'sample';
      readonly atMs: number;
      /** Reads the instruments: nobody needs them while a drill is tuned. */
      readonly read: () => ReadonlyMap<MetricKey, number>;
    };

/** All there is to know of a node at one moment: from here it goes on the same way in this run and in the next. */
export interface NodeState {
  readonly atMs: number;
  readonly up: boolean;
  readonly bootedAtMs: number;
  readonly battery: BatteryTruth;
  readonly batteryC: number;
  readonly loadMood: number;
  /** Rain since the last reading, mm. */
  readonly rainMm: number;
  readonly waterM: number;
  readonly images: number;
  /** When it last looked at its instruments; absent: with the last step. */
  readonly sampledAtMs?: number;
}

export interface SimulatedNode {
  readonly site: SimulatedSite;
  /** Moves the node on to `atMs`; steps are at most a quarter of an hour. */
  readonly stepTo: (atMs: number) => readonly NodeEvent[];
  readonly state: () => NodeState;
  readonly chargeRatio: () => number;
  /** Dark, or broken. */
  readonly isSilent: () => boolean;
}

/** What the drills that need a certain end are tuned by. */
export interface Tuning {
  /** From then on. */
  readonly sinceMs: number;
  /** Multiplies the load. */
  readonly burden: number;
  /** Multiplies what the panel gives. */
  readonly light: number;
  /** When the connector failed, where that is the drill. */
  readonly failedAtMs?: number;
}

export interface NodeLife {
  readonly seed: number;
  readonly surroundings: SurroundingsAt;
  /** The moment the drills are about: what happened "hours ago" is counted from here. */
  readonly drillMs: number;
  readonly tuning?: Tuning | undefined;
  /** What goes wrong inside it, and when; undefined: nothing. */
  readonly mishap?: MishapAt | undefined;
  /** How it was asked to run; undefined: by itself. */
  readonly settings?: Pick<SettingsAnswer, 'logEveryMs' | 'loadTimes'> | undefined;
  readonly from: NodeState;
}

interface Moved {
  readonly atMs: number;
  readonly hours: number;
  readonly moved: Pick<NodeState, 'battery' | 'batteryC' | 'loadMood' | 'waterM'>;
  readonly around: Surroundings;
  readonly flow: BatteryFlow;
  readonly mishap: Mishap;
  /** Since the last reading. */
  readonly rainMm: number;
}

export const LONGEST_STEP_MS = 15 * MINUTE_MS;
const START_RATIO = 0.85;
/** A battery in its box follows the air within hours. */
const BATTERY_LAG_H = 4;
/** The load wanders by a tenth over a day or two. */
const MOOD_HOURS = 30;
const MOOD_SIZE = 0.1;
const NEW_BATTERY = 0.96;

/** The node as it was put up. */
export function firstState(site: SimulatedSite, startMs: number): NodeState {
  return {
    atMs: startMs,
    up: true,
    bootedAtMs: startMs,
    battery: {
      storedWh: capacityWhOf(site) * START_RATIO,
      book: { harvestWh: 0, servedWh: 0, lostWh: 0 },
    },
    batteryC: 8,
    loadMood: 0,
    rainMm: 0,
    waterM: 0.6,
    images: 0,
  };
}

/** One pretend node: panel, charger, battery, board and sensors under one sky, with the truth kept to itself. */
export function createSimulatedNode(site: SimulatedSite, life: NodeLife): SimulatedNode {
  const seed = life.seed ^ seedOf(site.id);
  const { power, drill } = site;
  const capacityWh = capacityWhOf(site);
  const brokenFromMs =
    drill?.kind === 'board-failed' ? life.drillMs - drill.hoursAgo * HOUR_MS : Infinity;
  const failedFromMs =
    drill?.kind === 'connector-failed'
      ? (life.tuning?.failedAtMs ?? life.drillMs - drill.daysAgo * DAY_MS)
      : Infinity;
  let state = life.from;
  const chargeRatio = () => state.battery.storedWh / capacityWh;

  function step(atMs: number): readonly NodeEvent[] {
    const durationMs = atMs - state.atMs;
    const hours = durationMs / HOUR_MS;
    const { tuning } = life;
    const isTuned = tuning !== undefined && atMs >= tuning.sinceMs;
    const around = life.surroundings(atMs);
    const { sky } = around;
    const now = life.mishap?.(atMs) ?? sound;
    const mishap = atMs < failedFromMs ? now : { ...now, panelConnected: false };

    const batteryC =
      state.batteryC + (sky.airC + 2 - state.batteryC) * Math.min(1, hours / BATTERY_LAG_H);
    const kept = Math.exp(-hours / MOOD_HOURS);
    const loadMood =
      state.loadMood * kept + MOOD_SIZE * Math.sqrt(1 - kept * kept) * normalAt(seed, atMs);
    const flow = stepBatteryTruth(state.battery, {
      capacityWh,
      chemistry: power.battery.chemistry,
      batteryC,
      offeredW:
        mishap.panelConnected && mishap.chargerWorks
          ? around.panelW * (isTuned ? tuning.light : 1)
          : 0,
      wantedW: state.up
        ? site.loadW *
          (isTuned ? tuning.burden : 1) *
          mishap.loadTimes *
          (life.settings?.loadTimes(atMs) ?? 1) *
          (mishap.loadIsFlat ? 1 : Math.exp(loadMood) * daily(atMs))
        : power.offStateDrawW,
      durationMs,
      protectionFailed: mishap.protectionFailed,
    });
    const rainMm = sky.rainMmPerHour * hours;
    const moved = {
      battery: flow.after,
      batteryC,
      loadMood,
      waterM: state.waterM + rainMm * 0.09 - hours * (state.waterM - 0.45) * 0.02,
    };
    return act({ atMs, moved, around, flow, mishap, rainMm: state.rainMm + rainMm, hours });
  }

  /** What the board does with it: stop, come back, look at its instruments. */
  function act({ atMs, moved, around, flow, mishap, rainMm, hours }: Moved): NodeEvent[] {
    const ratio = moved.battery.storedWh / capacityWh;
    const comesBack = !state.up && ratio >= power.restartRatio;
    const stops = state.up && ratio <= power.shutDownRatio;
    const up = comesBack || (state.up && !stops);
    const { restartsAfterHours } = mishap;
    const brownsOut =
      restartsAfterHours > 0 && atMs - state.bootedAtMs >= restartsAfterHours * HOUR_MS;
    const bootedAtMs = comesBack || brownsOut ? atMs : state.bootedAtMs;
    const isSeen = around.sky.cloud < 0.7 && Math.abs(normalAt(seed + 1, atMs)) < hours / 2;
    const images = (comesBack ? 0 : state.images) + (up && isSeen ? 1 : 0);
    const everyMs = life.settings?.logEveryMs(atMs);
    const looks = comesBack || everyMs === undefined || isDue(atMs, everyMs);
    state = {
      atMs,
      up,
      bootedAtMs,
      ...moved,
      rainMm: up && looks ? 0 : rainMm,
      images,
      ...(looks ? { sampledAtMs: atMs } : kept(state)),
    };
    if (atMs >= brokenFromMs) return [];
    if (stops) return [{ kind: 'farewell', atMs, chargeRatio: ratio }];
    if (!up || !looks) return [];
    const now = state;
    const read = () =>
      readInstruments(
        {
          ...now,
          ...around,
          rainMm,
          site,
          flow,
          mishap,
          chargeRatio: ratio,
          uptimeS: (atMs - bootedAtMs) / 1000,
        },
        randomAt(seed + 2, atMs),
      );
    const sample: NodeEvent = { kind: 'sample', atMs, read };
    return comesBack ? [{ kind: 'hello', atMs }, sample] : [sample];
  }

  /** By its own clock, give or take half a second. */
  const isDue = (atMs: number, everyMs: number): boolean =>
    atMs - (state.sampledAtMs ?? -Infinity) >= everyMs - SECOND_MS / 2;

  return {
    site,
    chargeRatio,
    state: () => state,
    isSilent: () => !state.up || state.atMs >= brokenFromMs,
    stepTo(toMs) {
      const events: NodeEvent[] = [];
      while (state.atMs < toMs) events.push(...step(Math.min(toMs, state.atMs + LONGEST_STEP_MS)));
      return events;
    },
  };
}

function capacityWhOf({ power, drill }: SimulatedSite): number {
  return (
    power.battery.ratedWh * (drill?.kind === 'weak-battery' ? drill.capacityShare : NEW_BATTERY)
  );
}

const kept = ({ sampledAtMs }: NodeState): Pick<NodeState, 'sampledAtMs'> =>
  sampledAtMs === undefined ? {} : { sampledAtMs };

/** Busier by day: cameras and radios follow people and animals. */
const daily = (atMs: number): number => {
  const hourOfDay = (atMs / HOUR_MS) % 24;
  return 1 + 0.18 * Math.sin((2 * Math.PI * (hourOfDay - 7)) / 24);
};

import { HOUR_MS, type HourlyHistory } from '@duskline/domain';
import type { ForecastInputs } from './forecast-inputs.ts';
import { MODEL } from './forecast-node.ts';

/** Everything an outlook is made of, as plain JSON: this is what must be kept to make it again. */
export interface StoredInputs {
  readonly version: 1;
  /** The chain that used them: another one may answer otherwise. */
  readonly model: string;
  readonly inputs: Omit<ForecastInputs, 'charge'> & {
    /** Null: none was known. */
    readonly charge: NonNullable<ForecastInputs['charge']> | null;
  };
}

/**
 * What must be stored with an outlook so that it can be made again to the last bit: the seed, the place, the power system, the
 * hours known then, charge, dark spell, climate, outside forecast, what was learnt, paths and horizon.
 *
 * @param inputs  as given to `forecastNode`; hours after now are left out, for they were not looked at
 */
export function storedInputs(inputs: ForecastInputs): StoredInputs {
  const { charge, history, ...rest } = inputs;
  return {
    version: 1,
    model: MODEL,
    inputs: { ...rest, charge: charge ?? null, history: upTo(history, inputs.nowMs) },
  };
}

/** The inputs again, to be given to `forecastNode`, `whatIf` or `seasonOutlook`. */
export function fromStored({ inputs }: StoredInputs): ForecastInputs {
  return { ...inputs, charge: inputs.charge ?? undefined };
}

function upTo(history: HourlyHistory, untilMs: number): HourlyHistory {
  const hours = Math.max(0, Math.ceil((untilMs - history.startMs) / HOUR_MS));
  const cut = (values: readonly (number | null)[]): readonly (number | null)[] =>
    values.slice(0, hours).map((value) => value ?? null);
  return {
    startMs: history.startMs,
    panelW: cut(history.panelW),
    loadW: cut(history.loadW),
    chargeRatio: cut(history.chargeRatio),
    batteryV: cut(history.batteryV),
    batteryA: cut(history.batteryA),
    batteryC: cut(history.batteryC),
    airC: cut(history.airC),
  };
}

import { failed, ok, type PowerSystem, type Result } from '@duskline/domain';
import type { CurvePoints } from '../piecewise.ts';
import type { BatteryFacts } from './battery-facts.ts';
import { batteryOf } from './battery-of.ts';
import {
  checkCustomBattery,
  type CustomBatteryFault,
  type CustomBatteryInput,
} from './check-custom-battery.ts';

type Battery = PowerSystem['battery'];

/** A curve flatter than this says little of charge: V per unit of charge and cell, the plateau of iron phosphate. */
const FLAT_V_PER_RATIO = 0.25;
const LEAST_PLATEAU = 0.2;
const PLATEAU_BAND = 0.3;

/**
 * A builder's own battery, checked, in the form a power system keeps.
 *
 * @returns the battery, its Ah turned into Wh by the mean of its curve; or every fault with where it is and how to mend it
 * @source ours
 */
export function customBatteryOf(
  input: CustomBatteryInput,
): Result<Battery, readonly CustomBatteryFault[]> {
  const faults = checkCustomBattery(input);
  if (faults.length > 0) return failed(faults);
  const { like, seriesCells, ratedWh, ratedAh, name, voltagePoints, chargeC, dischargeC } = input;
  return ok({
    chemistry: like,
    ratedWh: ratedWh ?? (ratedAh ?? 0) * meanVoltage(voltagePoints),
    seriesCells,
    custom: {
      name: name.trim(),
      voltagePoints,
      chargeC,
      dischargeC,
      ...(input.restResistanceOhm !== undefined && { restResistanceOhm: input.restResistanceOhm }),
    },
  });
}

/**
 * The facts of the battery of a power system, per cell: of its chemistry, or of the builder's own where there is one.
 *
 * What the builder does not state (efficiency, self-discharge, ageing, capacity in the cold, speed of charging) is that of the
 * chemistry it is most like.
 *
 * @param battery  checked by `customBatteryOf` where it is the builder's own
 */
export function batteryFactsOf(battery: Battery): BatteryFacts {
  const like = batteryOf(battery.chemistry);
  const { custom, seriesCells, ratedWh } = battery;
  if (custom === undefined) return like;
  const ocvPoints = custom.voltagePoints.map(
    ([ratio, voltageV]) => [ratio, voltageV / seriesCells] as const,
  );
  const lowV = ocvPoints[0]![1];
  const highV = ocvPoints[ocvPoints.length - 1]![1];
  const likeHighV = like.ocvPoints[like.ocvPoints.length - 1]![1];
  const nominalCellV = meanVoltage(ocvPoints);
  const ratedAh = ratedWh / (nominalCellV * seriesCells);
  const [minC, maxC] = custom.chargeC;
  return {
    ...like,
    name: custom.name,
    nominalCellV,
    ocvPoints,
    otherOcvPoints: [],
    plateau: plateauOf(ocvPoints),
    cellSpanV: [lowV * 0.8, highV * 1.15],
    fullCellV: (highV * like.fullCellV) / likeHighV,
    resistanceOhmAh:
      custom.restResistanceOhm === undefined
        ? like.resistanceOhmAh
        : (custom.restResistanceOhm * ratedAh) / seriesCells,
    chargeTemperatureC: [minC, maxC],
    chargeBands: withinLimits(like, minC, maxC),
    dischargeTemperatureC: custom.dischargeC,
    sources: [`“${custom.name}”: as its builder stated`, ...like.sources],
  };
}

/** The bands of the like chemistry, cut or stretched to the builder's own limits. */
function withinLimits(like: BatteryFacts, minC: number, maxC: number): BatteryFacts['chargeBands'] {
  const last = like.chargeBands.length - 1;
  const bands = like.chargeBands
    .map((band, index) => ({
      ...band,
      fromC: index === 0 ? minC : Math.max(minC, band.fromC),
      toC: index === last ? maxC : Math.min(maxC, band.toC),
    }))
    .filter((band) => band.fromC < band.toC);
  const fastest = Math.max(...like.chargeBands.map((band) => band.ratePerH));
  return bands.length > 0 ? bands : [{ fromC: minC, toC: maxC, ratePerH: fastest }];
}

/** Mean of the curve over charge: rated Wh over rated Ah. */
function meanVoltage(points: CurvePoints): number {
  let area = 0;
  for (let index = 1; index < points.length; index += 1) {
    const [fromRatio, fromV] = points[index - 1]!;
    const [toRatio, toV] = points[index]!;
    area += ((fromV + toV) / 2) * (toRatio - fromRatio);
  }
  return area / (points[points.length - 1]![0] - points[0]![0]);
}

/** The longest flat stretch of a curve, when it is long enough to mislead. */
function plateauOf(points: CurvePoints): BatteryFacts['plateau'] {
  let best: { fromRatio: number; toRatio: number } | undefined;
  let fromRatio: number | undefined;
  for (let index = 1; index < points.length; index += 1) {
    const [lowRatio, lowV] = points[index - 1]!;
    const [highRatio, highV] = points[index]!;
    const isFlat = (highV - lowV) / (highRatio - lowRatio) < FLAT_V_PER_RATIO;
    fromRatio = isFlat ? (fromRatio ?? lowRatio) : undefined;
    if (fromRatio === undefined) continue;
    const width = highRatio - fromRatio;
    if (width >= LEAST_PLATEAU && (best === undefined || width > best.toRatio - best.fromRatio)) {
      best = { fromRatio, toRatio: highRatio };
    }
  }
  return best === undefined ? undefined : { ...best, bandRatio: PLATEAU_BAND };
}

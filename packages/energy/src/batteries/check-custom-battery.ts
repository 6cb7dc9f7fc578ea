import type { BatteryChemistry, CustomBattery } from '@duskline/domain';

/** A battery as a builder types it in: energy as Wh or as Ah, of the whole pack. */
export interface CustomBatteryInput extends CustomBattery {
  readonly like: BatteryChemistry;
  readonly seriesCells: number;
  readonly ratedWh?: number;
  readonly ratedAh?: number;
  /** The maker allows charging below 0 °C (heated pack, titanate): said on purpose, because lithium below 0 °C is dangerous. */
  readonly makerAllowsFreezingCharge?: boolean;
}

/** One thing that is wrong with it: what, where, and how to mend it. */
export interface CustomBatteryFault {
  /** Path into the input, e.g. `voltagePoints[3]`. */
  readonly where: string;
  readonly what: string;
  readonly mend: string;
}

const LONGEST_NAME = 60;
const MOST_CELLS = 100;
const FEWEST_POINTS = 2;
const MOST_POINTS = 50;
const LOWEST_CELL_V = 0.5;
const HIGHEST_CELL_V = 5;
const END_TOLERANCE = 0.05;

/**
 * Everything that is wrong with a builder's own battery, so that all can be mended in one go.
 *
 * @returns an empty list when it can be used
 * @source ours; no charge of lithium below 0 °C: common practice of all makers, and safety
 */
export function checkCustomBattery(input: CustomBatteryInput): readonly CustomBatteryFault[] {
  return [
    ...nameFaults(input),
    ...energyFaults(input),
    ...pointFaults(input),
    ...temperatureFaults(input),
    ...resistanceFaults(input),
  ];
}

function nameFaults({ name }: CustomBatteryInput): CustomBatteryFault[] {
  const length = name.trim().length;
  if (length > 0 && length <= LONGEST_NAME) return [];
  return [
    {
      where: 'name',
      what: length === 0 ? 'The battery has no name.' : `The name has ${length} letters.`,
      mend: `Give it a name of 1 to ${LONGEST_NAME} letters, as on its label.`,
    },
  ];
}

function energyFaults(input: CustomBatteryInput): CustomBatteryFault[] {
  const { ratedWh, ratedAh, seriesCells } = input;
  const faults: CustomBatteryFault[] = [];
  if (!Number.isInteger(seriesCells) || seriesCells < 1 || seriesCells > MOST_CELLS) {
    faults.push({
      where: 'seriesCells',
      what: `${seriesCells} is no number of cells in series.`,
      mend: `Give a whole number from 1 to ${MOST_CELLS}: count the cells between plus and minus, not those side by side.`,
    });
  }
  if ((ratedWh === undefined) === (ratedAh === undefined)) {
    faults.push({
      where: ratedWh === undefined ? 'ratedWh' : 'ratedAh',
      what: `${ratedWh === undefined ? 'Neither' : 'Both'} rated Wh ${ratedWh === undefined ? 'nor' : 'and'} rated Ah are given.`,
      mend: 'Give exactly one of the two, as printed on the label.',
    });
  }
  for (const [where, value] of [
    ['ratedWh', ratedWh],
    ['ratedAh', ratedAh],
  ] as const) {
    if (value !== undefined && !(value > 0 && Number.isFinite(value))) {
      faults.push({
        where,
        what: `${value} is no capacity.`,
        mend: 'Give a number above zero, of the whole pack.',
      });
    }
  }
  return faults;
}

function pointFaults({ voltagePoints, seriesCells }: CustomBatteryInput): CustomBatteryFault[] {
  if (voltagePoints.length < FEWEST_POINTS || voltagePoints.length > MOST_POINTS) {
    return [
      {
        where: 'voltagePoints',
        what: `There are ${voltagePoints.length} points of voltage and charge.`,
        mend: `Give ${FEWEST_POINTS} to ${MOST_POINTS}: at least empty (0) and full (1), better every tenth.`,
      },
    ];
  }
  const faults: CustomBatteryFault[] = [];
  for (const [index, [ratio, voltageV]] of voltagePoints.entries()) {
    const where = `voltagePoints[${index}]`;
    const before = voltagePoints[index - 1];
    const cellV = voltageV / seriesCells;
    if (!(ratio >= 0 && ratio <= 1)) {
      faults.push({
        where,
        what: `Charge ${ratio} is not between 0 and 1.`,
        mend: 'Give charge as a share: 0 is empty, 1 is full; 50 % is 0.5.',
      });
    } else if (before !== undefined && !(ratio > before[0])) {
      faults.push({
        where,
        what: `Charge ${ratio} does not come after ${before[0]}.`,
        mend: 'Order the points from empty to full, each charge once.',
      });
    }
    if (!(cellV >= LOWEST_CELL_V && cellV <= HIGHEST_CELL_V)) {
      faults.push({
        where,
        what: `${voltageV} V over ${seriesCells} cells is ${cellV.toFixed(2)} V a cell, which no cell has.`,
        mend: 'Give the voltage of the whole pack at rest, and check the number of cells.',
      });
    } else if (before !== undefined && !(voltageV > before[1])) {
      faults.push({
        where,
        what: `The voltage goes from ${before[1]} V to ${voltageV} V while the charge rises.`,
        mend: 'Rest voltage must rise with charge, by a millivolt at least; read it an hour after charging or use.',
      });
    }
  }
  const [emptyRatio] = voltagePoints[0]!;
  const [fullRatio] = voltagePoints[voltagePoints.length - 1]!;
  if (emptyRatio > END_TOLERANCE || fullRatio < 1 - END_TOLERANCE) {
    faults.push({
      where: 'voltagePoints',
      what: `The points run from ${emptyRatio} to ${fullRatio}, not from empty to full.`,
      mend: 'Add the rest voltage when empty (0) and when full (1).',
    });
  }
  return faults;
}

function temperatureFaults(input: CustomBatteryInput): CustomBatteryFault[] {
  const faults: CustomBatteryFault[] = [];
  for (const where of ['chargeC', 'dischargeC'] as const) {
    const [minC, maxC] = input[where];
    if (!(minC >= -60 && maxC <= 100 && minC < maxC)) {
      faults.push({
        where,
        what: `${minC} to ${maxC} °C is no range of temperature for a battery.`,
        mend: 'Give the lowest first, both in °C between −60 and 100, from the data sheet of the cells.',
      });
    }
  }
  const isLithium = input.like.startsWith('li');
  if (isLithium && input.chargeC[0] < 0 && input.makerAllowsFreezingCharge !== true) {
    faults.push({
      where: 'chargeC',
      what: `Charging from ${input.chargeC[0]} °C would plate lithium, which destroys the cells and can start a fire.`,
      mend: 'Give 0 °C or more, unless the maker of this pack allows less in writing: then say so.',
    });
  }
  return faults;
}

function resistanceFaults({ restResistanceOhm }: CustomBatteryInput): CustomBatteryFault[] {
  if (
    restResistanceOhm === undefined ||
    (restResistanceOhm >= 0 && Number.isFinite(restResistanceOhm))
  ) {
    return [];
  }
  return [
    {
      where: 'restResistanceOhm',
      what: `${restResistanceOhm} Ω is no resistance.`,
      mend: 'Give Ω of the whole pack: the drop in V when a load is put on, over its current in A. Or leave it out.',
    },
  ];
}

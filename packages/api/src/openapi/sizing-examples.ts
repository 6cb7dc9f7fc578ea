import type {
  RuntimeJson,
  RuntimeRequestJson,
  SizingJson,
  SizingRequestJson,
} from '@duskline/contract';

const sizingRequest: SizingRequestJson = {
  latitudeDeg: 54.71,
  longitudeDeg: -2.31,
  elevationM: 412,
  loadW: 0.8,
  panelW: 20,
  panelTiltDeg: 65,
  panelAzimuthDeg: 180,
  battery: {
    chemistry: 'lifepo4',
    ratedWh: 154,
    seriesCells: 4,
  },
  charger: 'mppt',
  shutDownRatio: 0.1,
  restartRatio: 0.5,
  offStateDrawW: 0.03,
  reliabilityRatio: 0.98,
  criticality: 'ordinary',
};

const sizing: SizingJson = {
  months: [
    {
      month: 1,
      clearness: 0.28,
      airC: 2,
      harvestWhPerDay: 13.96,
      loadWhPerDay: 19.2,
      arrayToLoad: 0.643,
      darkDays: 15.611,
      chanceDark: 0.95,
      blockedDays: 4.2,
    },
    {
      month: 2,
      clearness: 0.292,
      airC: 2.938,
      harvestWhPerDay: 20.537,
      loadWhPerDay: 19.2,
      arrayToLoad: 0.946,
      darkDays: 6.218,
      chanceDark: 0.9,
      blockedDays: 1.8,
    },
    {
      month: 3,
      clearness: 0.325,
      airC: 5.5,
      harvestWhPerDay: 30.96,
      loadWhPerDay: 19.2,
      arrayToLoad: 1.427,
      darkDays: 0.849,
      chanceDark: 0.3,
      blockedDays: 0.35,
    },
    {
      month: 4,
      clearness: 0.37,
      airC: 9,
      harvestWhPerDay: 49.137,
      loadWhPerDay: 19.2,
      arrayToLoad: 2.264,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0.05,
    },
    {
      month: 5,
      clearness: 0.415,
      airC: 12.5,
      harvestWhPerDay: 61.557,
      loadWhPerDay: 19.2,
      arrayToLoad: 2.836,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0,
    },
    {
      month: 6,
      clearness: 0.448,
      airC: 15.062,
      harvestWhPerDay: 65.448,
      loadWhPerDay: 19.2,
      arrayToLoad: 3.016,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0,
    },
    {
      month: 7,
      clearness: 0.46,
      airC: 16,
      harvestWhPerDay: 68.377,
      loadWhPerDay: 19.2,
      arrayToLoad: 3.151,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0,
    },
    {
      month: 8,
      clearness: 0.448,
      airC: 15.062,
      harvestWhPerDay: 60.673,
      loadWhPerDay: 19.2,
      arrayToLoad: 2.796,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0,
    },
    {
      month: 9,
      clearness: 0.415,
      airC: 12.5,
      harvestWhPerDay: 48.138,
      loadWhPerDay: 19.2,
      arrayToLoad: 2.218,
      darkDays: 0,
      chanceDark: 0,
      blockedDays: 0,
    },
    {
      month: 10,
      clearness: 0.37,
      airC: 9,
      harvestWhPerDay: 33.011,
      loadWhPerDay: 19.2,
      arrayToLoad: 1.521,
      darkDays: 0.192,
      chanceDark: 0.1,
      blockedDays: 0.15,
    },
    {
      month: 11,
      clearness: 0.325,
      airC: 5.5,
      harvestWhPerDay: 18.474,
      loadWhPerDay: 19.2,
      arrayToLoad: 0.851,
      darkDays: 3.689,
      chanceDark: 0.75,
      blockedDays: 0.5,
    },
    {
      month: 12,
      clearness: 0.292,
      airC: 2.938,
      harvestWhPerDay: 10.094,
      loadWhPerDay: 19.2,
      arrayToLoad: 0.465,
      darkDays: 17.216,
      chanceDark: 1,
      blockedDays: 1.65,
    },
  ],
  worstMonth: 12,
  upRatio: 0.88,
  darkDaysPerYear: 43.776,
  meetsWish: false,
  autonomyDays: 6.126,
  textbook: {
    batteryWh: {
      least: 125.697,
      most: 175.976,
    },
    panelW: {
      least: 47.304,
      most: 51.604,
    },
    autonomyDays: {
      least: 5,
      most: 7,
    },
    arrayToLoad: {
      least: 1.1,
      most: 1.2,
    },
    source:
      'IEEE 1562 and 1013 as quoted by public summaries, partly from memory; both are for lead–acid batteries by their scope',
  },
  smallestPanelW: 47.788,
  smallestBatteryWh: 1211.886,
  pairs: [
    {
      panelW: 70.021,
      batteryWh: 75.418,
      autonomyDays: 3,
    },
    {
      panelW: 52.299,
      batteryWh: 125.697,
      autonomyDays: 5,
    },
    {
      panelW: 45.589,
      batteryWh: 175.976,
      autonomyDays: 7,
    },
    {
      panelW: 39.739,
      batteryWh: 251.394,
      autonomyDays: 10,
    },
    {
      panelW: 35.85,
      batteryWh: 351.952,
      autonomyDays: 14,
    },
  ],
  years: 20,
  sentence:
    'This design carries 0.8 W for 6.1 days without sun; its worst month is December with an array-to-load ratio of 0.47: expect it dark about 17 days of that month, and 44 days of the year (up 88 % of the time, 98 % wished). Either a panel of 48 W or a battery of 1212 Wh alone would do.',
  climate: {
    clearnessSource:
      'typical of the latitude, from memory of climate tables; a place may differ by 0.1 of clearness and 8 K',
    airSource:
      'typical of the latitude, from memory of climate tables; a place may differ by 0.1 of clearness and 8 K',
  },
  seed: 1,
  notes: [
    'In January, February and December it is too cold or too hot to charge on up to 4.2 days of the month: a larger panel does not help there, an insulated or warmed battery does.',
    'Lithium cells must never be charged below 0 °C. Use a pack with its own tested protection and a fuse at the battery; follow the maker’s instructions and local codes.',
    'Shade, snow on the panel and ageing are not in these figures; leave a margin of 10–25 %.',
  ],
};

const runtimeRequest: RuntimeRequestJson = {
  battery: {
    chemistry: 'lifepo4',
    ratedAh: 12,
    seriesCells: 4,
    own: {
      name: 'Bench pack 12 Ah',
      voltagePoints: [
        {
          chargeRatio: 0,
          voltageV: 10.4,
        },
        {
          chargeRatio: 0.1,
          voltageV: 12.8,
        },
        {
          chargeRatio: 0.3,
          voltageV: 13.1,
        },
        {
          chargeRatio: 0.7,
          voltageV: 13.3,
        },
        {
          chargeRatio: 1,
          voltageV: 13.8,
        },
      ],
      charge: {
        minC: 0,
        maxC: 45,
      },
      discharge: {
        minC: -20,
        maxC: 60,
      },
      restResistanceOhm: 0.05,
    },
  },
  loadW: 0.8,
  shutDownRatio: 0.1,
  batteryC: 5,
};

const runtime: RuntimeJson = {
  sentence:
    '0.8 W run for 6.4 days (5.1 days to 6.4 days) from 100 % down to 10 % at 5 °C, without any sun.',
  hours: 153.412,
  lowHours: 122.75,
  highHours: 153.412,
  usableWh: 127.283,
  notes: [
    'The lower end is a worn battery at 80 % of its nameplate; measure it to know better.',
    'Lithium cells must never be charged below 0 °C. Use a pack with its own tested protection and a fuse at the battery; follow the maker’s instructions and local codes.',
  ],
};

/** What the document shows beside the questions of size and their answers: our demonstration moor. */
export const sizingExamples = { sizingRequest, sizing, runtimeRequest, runtime };

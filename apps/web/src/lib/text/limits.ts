const FROM = { default: 'By default', site: 'For the site', node: 'For the node' } as const;

function field(label: string, per?: 'minute' | 'hours') {
  return { label, per };
}

/** The words of the limits of readings: of a site, a node, a part. */
export const limitsText = {
  ofSite: 'For this site',
  ofNode: (name: string) => `For the node ${name}`,
  title: 'Limits of readings',
  act: 'Limits',
  does: 'Readings outside are marked, never deleted.',
  order:
    'A limit of a part comes before one of the node, that before one of the site, and that before the default.',
  ofPart:
    'They hold for readings of the time this part was fitted, also for those that come late. Where two parts set the same limit, the later fitted holds.',
  ends: 'Limits that were set for this part end with it: the next one has none until they are set.',
  none: 'None of its own.',
  subject: 'Limits of',
  alone: 'One metric alone',
  together: 'Readings held against each other',
  setBy: (name: string) => `Set by ${name},`,
  keep: 'Keep these limits',
  kept: 'Kept. The readings they hold for are tested again.',
  empty: 'An empty field leaves the limit as it is without.',
  drop: 'Take away',
  dropOne: (label: string) => `Take the limits of ${label} away`,
  failed: 'That was not kept.',
  off: 'Do not make this test',
  untested: 'not tested',
  beneath: (said: string, from: 'default' | 'site' | 'node', source: string | null) =>
    `${FROM[from]}: ${said}${source === null ? '' : ` (${source})`}.`,
  back: {
    default: 'Back to the default',
    site: 'Back to that of the site',
    node: 'Back to that of the node',
  },
  backOne: (back: string, legend: string) => `${back}: ${legend}`,
  units: { minute: (unit: string) => `${unit} a minute`.trim(), hours: () => 'h' },
  /** One test each: its name, what it does, and its fields; `per` is a unit other than that of the metric. */
  tests: {
    failSpan: {
      legend: 'Gross range: fails',
      does: 'A reading outside what the sensor or nature can give fails.',
      fields: [field('from'), field('to')],
    },
    suspectSpan: {
      legend: 'Gross range: suspect',
      does: 'A reading outside what is likely, and inside what is possible, is suspect.',
      fields: [field('from'), field('to')],
    },
    spike: {
      legend: 'Spike',
      does: 'Looks how far a reading lies from the middle of the one before and the one after it.',
      fields: [field('suspect over'), field('fails over')],
    },
    rate: {
      legend: 'Rate of change',
      does: 'Looks how fast a reading changed from the one before.',
      fields: [field('suspect over', 'minute'), field('fails over', 'minute')],
    },
    flatLine: {
      legend: 'Flat line',
      does: 'Looks for readings that hardly move for hours, as of a sensor that is stuck or iced. Saturated air, calm, and the dark are let off.',
      fields: [
        field('moves less than'),
        field('suspect after', 'hours'),
        field('fails after', 'hours'),
      ],
    },
    neighbour: {
      legend: 'Neighbours',
      does: 'Looks how far the day\u2019s average lies from the median of three or more nodes within 50 km. It writes into the logbook; readings keep their flags.',
      fields: [field('noted over')],
    },
  },
  faults: {
    half: 'A range has two ends: give both, or neither.',
    upsideDown: 'The range ends below where it begins.',
    notPositive: 'A limit must be more than nothing.',
    noSuspect: 'Give the figure over which it is suspect, too: it comes before failing.',
    failsFirst: 'It would fail before it is suspect: the second figure must be the larger one.',
    still: 'Give how little it moves, and after how long that is suspect.',
    stillLength: 'The time must lie between one minute (0.017 h) and 24 h.',
  },
  clashes: {
    outside: (span: string) =>
      `What is suspect must begin before what fails: readings fail outside ${span}.`,
    apart: (span: string) =>
      `Nothing good would be left: readings are suspect outside ${span}, and that lies wholly outside this range.`,
  },
  cross: {
    field: 'limit',
    bounds: (least: string, most: string) => `Give a figure from ${least} to ${most}.`,
    groups: {
      night: 'The panel at night',
      dewPoint: 'Dew point and air',
      gust: 'Gust and wind',
      clearSky: 'Sunlight and clear sky',
      chargeJump: 'Charge within minutes',
      noLight: 'Panel current and sunlight',
      dryRain: 'Rain and humidity',
    },
    limits: {
      nightBelowDeg: {
        legend: 'Night: sun below',
        does: 'From this height of the sun down the tests of the panel at night are made.',
      },
      panelWAtNight: {
        legend: 'Panel power over',
        does: 'A reading over it at night fails: a panel gives nothing in the dark.',
      },
      panelAAtNight: {
        legend: 'Panel current over',
        does: 'A reading over it at night fails: a panel gives nothing in the dark.',
      },
      panelVAtNight: {
        legend: 'Panel voltage over',
        does: 'A reading over it at night is suspect: a panel has no voltage in the dark.',
      },
      dewPointAboveAirC: {
        legend: 'Dew point above air by over',
        does: 'A dew point further above the air temperature is suspect: air cannot be colder than its dew point.',
      },
      gustBelowMeanMs: {
        legend: 'Gust below wind by over',
        does: 'A gust further below the mean wind is suspect: a gust is never the weaker one.',
      },
      clearSkyRatio: {
        legend: 'Times a clear sky over',
        does: 'More sunlight than so many times that of a clear sky is suspect, when it lasts.',
      },
      clearSkyS: {
        legend: 'Lasting over',
        does: 'For less than this the edge of a cloud may be as bright.',
      },
      clearSkyLeastWPerM2: {
        legend: 'Clear sky at least',
        does: 'With less from a clear sky the test is not made: at dawn it would divide by almost nothing.',
      },
      chargeJumpPct: {
        legend: 'Charge jumps by over',
        does: 'A charge that changes by more points within the time below is suspect: no battery does.',
      },
      chargeJumpS: {
        legend: 'Within',
        does: 'The time in which the charge may not jump.',
      },
      currentA: {
        legend: 'Panel current over',
        does: 'A current over it without sunlight is suspect.',
      },
      currentBelowWPerM2: {
        legend: 'Sunlight under',
        does: 'With less sunlight than this a panel gives no current.',
      },
      rainMm: {
        legend: 'Rain over',
        does: 'More rain than this in dry air is suspect: mostly somebody knocked the gauge.',
      },
      rainBelowRhPct: {
        legend: 'Humidity under',
        does: 'Air is dry for this test below this relative humidity.',
      },
    },
  },
  says: {
    fails: (span: string) => `fails outside ${span}`,
    failsOff: 'no measuring range',
    suspect: (span: string) => `suspect outside ${span}`,
    suspectOff: 'nothing between good and failed',
    span: (low: string, high: string) => `${low} to ${high}`,
    spike: (least: string) =>
      `suspect more than ${least} from the middle of its neighbours in time`,
    spikeFails: (least: string) => `, fails more than ${least}`,
    spikeOff: 'jumps are not tested',
    rate: (least: string) => `suspect when it changes by more than ${least} a minute`,
    rateFails: (least: string) => `, fails by more than ${least} a minute`,
    rateOff: 'its rate of change is not tested',
    still: (least: string, length: string) =>
      `suspect with less than ${least} of change in ${length}`,
    stillFails: (length: string) => `, fails after ${length}`,
    stillOff: 'standing still is not tested',
    neighbour: (least: string) => `noted more than ${least} from its neighbours by day`,
    neighbourOff: 'not compared with its neighbours',
  },
};

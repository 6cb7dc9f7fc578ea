/** What the Sizing page says; figures in sentences come from the server. */
export const sizingText = {
  title: 'Sizing',
  sentence: 'Will this panel and this battery carry this load here?',
  second:
    'Month by month, over made-up weather of twenty years. A figure to plan with, not a promise.',
  place: 'The place',
  beginWith: 'Begin with a site',
  ownPlace: 'a new place',
  latitude: 'Latitude, ° (north positive)',
  longitude: 'Longitude, ° (east positive)',
  elevation: 'Height above sea, m',
  load: 'The load',
  loadW: 'Mean draw while up, W',
  loadHelp: 'with what controller and converters draw themselves',
  offStateDraw: 'Drawn while shut down, W',
  panel: 'The panel',
  panelW: 'Panel, W',
  tilt: 'Tilt, ° (0 flat, 90 upright)',
  azimuth: 'Facing, ° from north, clockwise',
  charger: 'Charger',
  battery: 'The battery',
  chemistry: 'Chemistry',
  batteryWh: 'Battery, Wh',
  seriesCells: 'Cells in series',
  shutDown: 'Shut-down level, %',
  restart: 'Restart level, %',
  wish: 'The wish',
  wished: 'Share of time up, %',
  criticality: 'How much hangs on it',
  criticalities: { ordinary: 'ordinary', critical: 'critical: no gap may be' },
  submit: 'Work it out',
  busy: 'Working it out…',
  levelsWrong: 'The restart level must lie above the shut-down level.',
  answer: 'The design, month by month',
  chartTitle: 'Days dark in each month',
  chartCaption: (most: string, days: string) =>
    `Days dark in a mean year, month by month: most in ${most}, ${days}.`,
  noneDark: 'In a mean year no month has a dark day worth naming.',
  axis: 'days dark',
  heads: {
    month: 'Month',
    harvest: 'Harvest a day',
    load: 'Load a day',
    ratio: 'Array to load',
    dark: 'Days dark',
    chance: 'Years with a dark day',
    blocked: 'Days too cold or hot to charge',
  },
  smallest: 'The smallest that would do',
  smallestPanel: 'Panel, with this battery',
  smallestBattery: 'Battery, with this panel',
  noneDoes: 'none alone',
  pairs: 'Pairs that do together',
  pair: (panel: string, battery: string, days: string) =>
    `${panel} with ${battery} (${days} without sun)`,
  textbook: 'What the textbook asks for',
  autonomy: 'Days without sun',
  arrayToLoad: 'Array to load, worst month',
  here: 'this design',
  asked: 'textbook',
  range: (least: string, most: string) => (least === most ? least : `${least} to ${most}`),
  noSun: 'no sun in the worst month',
  notes: 'Before you buy or climb',
  behind: (years: number, seed: number) =>
    `${years} years of made-up weather, seed ${seed}: the same question has the same answer.`,
  clearness: (source: string) => `Clearness of the sky: ${source}.`,
  air: (source: string) => `Temperature of the air: ${source}.`,
  runtime: 'How long does the battery last without any sun?',
  from: 'From a charge of, %',
  batteryC: 'Battery at, °C',
  runtimeSubmit: 'How long?',
  usable: (energy: string) => `${energy} can be used.`,
  check: 'Every site against its worst month',
  checkSentence:
    'Each site’s own panel and battery, with the load its outlook expects, held to the wish above and to typical weather of its latitude.',
  checkStart: (count: number) => `Check ${count === 1 ? 'the one site' : `all ${count} sites`}`,
  checking: (done: number, all: number) => `Checked ${done} of ${all}…`,
  checkDone: (good: number, all: number) =>
    good === all
      ? `All ${all} would live through their worst month as wished.`
      : `${good} of ${all} would live through their worst month as wished.`,
  checkStop: 'Stop',
  site: 'Site',
  worst: 'Worst month',
  up: 'Time up',
  verdict: 'As wished?',
  yes: 'yes',
  no: 'no',
  noNode: 'no node yet',
  noLoad: 'its load is not known yet',
  wouldDo: (panel: string | undefined, battery: string | undefined) => {
    const ways = [panel, battery].filter((way) => way !== undefined);
    return ways.length === 0 ? 'no: lower its load' : `no: ${ways.join(' or ')} would do`;
  },
  cautions:
    'Lithium cells, work at height, work alone and electricity can hurt and kill. Follow the makers’ instructions and local codes, and leave what they reserve to licensed people to them.',
} as const;

const monthFormat = new Intl.DateTimeFormat('en-GB', { month: 'long', timeZone: 'UTC' });

/** "January" for 1. */
export const monthWord = (month: number): string =>
  monthFormat.format(Date.UTC(2001, month - 1, 15));

import { plural } from './plural.ts';

/** The words of the Score page. */
export const scoreText = {
  title: 'Score',
  lead: 'How right the outlooks were',
  none: 'No outlook has come to its end yet. Each is graded when its seven days are over, or its node went dark.',
  sentence: (right: string) => `${right}`,
  dark: (said: string, came: string) =>
    `Where the outlooks said ${said} on average, a node was dark within seven days in ${came} of the cases`,
  of: (count: number, hindcasts: number) =>
    hindcasts === 0
      ? plural(count, 'outlook', 'outlooks')
      : hindcasts === count
        ? `${plural(count, 'outlook', 'outlooks')}, all of them hindcasts`
        : `${plural(count, 'outlook', 'outlooks')}, ${hindcasts} of them hindcasts`,
  hindcast:
    'A hindcast is an outlook computed afterwards for a past midnight, from what was known then and nothing later.',
  counts:
    'One outlook a node and day counts, and only when its whole time is over: one that came true early waits for its neighbours. What was said of a node whose harvest had failed is left out: it told what comes if nobody mends it.',
  choose: 'Which outlooks',
  choices: { all: 'all', issued: 'issued at their time', hindcasts: 'hindcasts' },
  recalibrated: (outcomes: number, date: string) =>
    `Chances are recalibrated on ${outcomes} outcomes since ${date}.`,
  notRecalibrated:
    'Chances are as the simulated futures give them: recalibration waits for 200 outcomes with 20 dark ones among them.',
  unknown: (count: number) =>
    `Of ${plural(count, 'outlook', 'outlooks')} nobody can say what came: nothing was heard.`,

  reliability: 'Said and come',
  reliabilityCaption: (bins: number, off: string) =>
    bins === 0
      ? 'There is no outlook to draw yet.'
      : `On the line, what was said came as often as it was said; the outlooks were ${off} off it, weighted by their number.`,
  saidAxis: 'Chance said of dark within 7 days, %',
  cameAxis: 'Came, %',
  countAxis: 'Outlooks',
  issued: 'issued at their time',
  hindcasts: 'hindcasts',
  said: 'Said',
  came: 'Came',
  number: 'Outlooks',
  ofThem: 'of them hindcasts',

  error: 'Error of days to empty',
  errorCaption: (ours: string, best: string, name: string) =>
    `The outlooks were ${ours} days off on average, the best plain rule (${name}) ${best} days; bars are 90 % intervals.`,
  errorNone: 'No outlook has lived through its 21 days yet.',
  errorAxis: 'CRPS, days, cut at 21 days; smaller is better',
  rules: {
    outlook: 'outlook',
    lastWeek: 'balance of 7 days',
    lastDay: 'balance of 24 h',
    noSun: 'reserve, no sun',
  },
  rule: 'Forecaster',
  value: 'CRPS',
  interval: '90 % interval',

  cover: 'Where what came fell',
  coverCaption: (share: string, range: string, count: number) =>
    `The 80 % range held ${share} of what came (${range}), of ${plural(count, 'outlook', 'outlooks')} with something at stake. Each tenth should hold a tenth.`,
  coverNone: 'No outlook with something at stake has come to its end yet.',
  tenthAxis: 'Tenth of the forecast, from earliest to latest',
  shareAxis: 'Share, %',
  tenth: 'Tenth',
  share: 'Share',

  nodes: 'By site',
  site: 'Site',
  events: 'Came dark',
  brier: 'Brier',
  crps: 'CRPS, d',
  weekCrps: 'CRPS of 7-day balance, d',
  held: '80 % range held',
  skill: 'Against the plain rules',
  skillLine: (name: string, value: string, low: string, high: string) =>
    `${name}: ${value} (${low} to ${high})`,
  skillNote:
    'Skill of the chance of dark within 7 days: 1 is perfect, 0 is as good as the rule, below 0 is worse. In brackets the 90 % interval over blocks of 30 days of a site.',
  baseRate: 'always the share that came',
  back: (count: number, crps: string) =>
    `When dark nodes come back: ${crps} days off on average, of ${plural(count, 'outlook', 'outlooks')}.`,
  dash: '—',
} as const;

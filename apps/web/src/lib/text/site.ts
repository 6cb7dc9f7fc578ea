import { plural } from './plural.ts';

/** The words of the Site page that stand nowhere else. */
export const siteText = {
  contents: 'On this page',
  waiting: 'Asking…',
  failed: 'This could not be read just now.',
  sections: {
    causes: 'Why',
    outlook: 'Charge and outlook',
    helps: 'What would help',
    balance: 'Harvest and load by day',
    season: 'The year ahead',
    learnt: 'What was learnt',
    readings: 'Readings',
    replay: 'A stretch of time, replayed',
    parts: 'Parts',
    settings: 'Settings asked for and in force',
    logbook: 'Logbook',
    intervals: 'The last sixty days',
    facts: 'Place and design',
    goThere: 'Steps for a visit here',
  },

  causes: {
    silence: 'Why it is silent',
    power: 'How it charges',
    none: 'No cause of a silence or of failed charging stands out.',
    neverHeard: 'It has never been heard, so there is nothing to explain yet.',
    for: 'Speaks for it',
    against: 'Speaks against it',
    settles: 'What settles it',
    when: 'by',
    others: (count: number) => `${plural(count, 'less likely cause', 'less likely causes')}`,
    eachAlone:
      'Each figure is the chance of that one cause. Where a sentence takes connector and charger together, its figure is the sum of the two.',
    made: 'Weighed',
  },

  drivers: {
    title: 'What pushes it',
    reserve: (energy: string, days: string) =>
      `${energy} above the shut-down level: ${days} without any sun.`,
    flow: (harvest: string, load: string) =>
      `Over the next seven days ${harvest} of harvest and ${load} of load a day.`,
    spilled: (energy: string) => `${energy} a day of sun finds the battery full.`,
    weather: 'The weather ahead is drawn',
    own: (share: string) => `${share} from its own past days`,
    season: (share: string) => `${share} from this season in earlier years`,
    climate: (share: string, from: string) => `${share} from the climate of ${from}`,
    clearness: { site: 'the place', latitude: 'its latitude' },
    outside: (source: string, days: string, pairs: number) =>
      `The first ${days} follow a forecast of ${source}, trusted as ${plural(pairs, 'past pair', 'past pairs')} have shown.`,
    panel: (ratio: string) =>
      `Over whole days, measured by what its climate brings, the panel gives ${ratio} of its plate; how strong it is at its best stands under What was learnt.`,
    issued: 'Outlook of',
  },

  helps: {
    none: 'Nothing that is known would change this outlook.',
    missing: (what: string) => `This cannot be said yet: ${what} is missing.`,
    gained: (days: string, atLeast: boolean) => `${atLeast ? 'at least ' : ''}${days} on average`,
    gainedHead: 'Days gained',
    changeHead: 'Change',
    darkHead: 'Dark within 14 days',
    darkMove: (before: string, after: string) =>
      `dark within 14 days: ${before} now, ${after} then`,
    askThrift: (until: string) => `Ask for thrift until ${until}`,
    thriftMeans: (log: string, publish: string) =>
      `Thrift is less logging to save energy: it would log every ${log} and publish every ${publish}, then go back by itself.`,
    words: 'All words',
    asked: 'Asked. It takes effect when the node says so.',
    notAsked: 'That was not sent. Try again.',
  },

  whatIf: {
    title: 'What if',
    lead: 'One change at a time, in the same futures as the outlook. Nothing is changed by trying.',
    kinds: {
      'log-less': 'it spent less, day and night',
      'less-at-night': 'it spent less at night',
      'clean-panel': 'the panel gave more (cleaned)',
      'bigger-panel': 'the panel were larger',
      'bigger-battery': 'the battery were larger',
      tilt: 'the panel were tilted otherwise',
    },
    units: {
      'log-less': 'of the load saved, %',
      'less-at-night': 'of the night load saved, %',
      'clean-panel': 'more harvest, %',
      'bigger-panel': 'panel, W',
      'bigger-battery': 'battery, Wh',
      tilt: 'tilt, ° (0 flat, 90 upright)',
    },
    change: 'The change',
    amount: 'How much',
    less: 'Less',
    more: 'More',
    asking: 'Thinking it through…',
    chance: (before: string, after: string) =>
      `Chance of going dark within 14 days: ${before} now, ${after} then.`,
    outside: (least: string, most: string) => `Between ${least} and ${most}.`,
  },

  season: {
    month: 'Month',
    chance: 'Chance of going dark',
    dark: 'Days dark, on average',
    of: 'Days looked at',
    axis: 'chance of going dark, %',
    assumes:
      'From today’s charge on, with the load and the weather that this site has known. Sizing asks what the design does in typical years of its latitude, so its figures differ.',
  },

  learnt: {
    none: 'Nothing has been learnt yet: it takes some days of readings.',
    at: 'Learnt up to',
    what: 'What',
    value: 'Value',
    band: '80 % band',
    days: 'From',
    sure: 'How sure',
    sureness: { assumed: 'assumed', weak: 'weak', fair: 'fair', firm: 'firm' },
    fromDays: (days: number) => (days < 1 ? 'the design' : plural(Math.round(days), 'day', 'days')),
    anew: (part: string) => `The ${part} is learnt anew since`,
  },

  shade: {
    title: 'Shade on the sun’s path',
    none: 'No bright hours have been seen yet, so nothing is known of shade.',
    free: (count: number) =>
      `No shade was found in the ${plural(count, 'stretch', 'stretches')} of sky the sun was seen to cross brightly.`,
    found: (count: number, all: number, worst: string) =>
      `Something stands before the sun in ${count} of ${plural(all, 'stretch', 'stretches')} of its path; the darkest is ${worst}.`,
    worst: (months: string, azimuth: string, left: string) =>
      `${azimuth} in ${months}, where ${left} of the best hours is left`,
    halves: ['January to June', 'July to December'],
    months: [
      'January and February',
      'March and April',
      'May and June',
      'July and August',
      'September and October',
      'November and December',
    ],
    azimuth: 'Azimuth',
    elevation: 'Elevation',
    left: 'Left of the best hours',
    hours: 'Bright hours seen',
    season: 'Months',
    xAxis: 'azimuth of the sun, ° from north',
    yAxis: 'elevation, °',
    keyShade: 'shaded, the stronger the less is left',
    keyFree: 'seen free',
    keyPath: 'path of the sun on the 20th to 22nd of each month',
    compass: ['N', 'NE', 'E', 'SE', 'S', 'SW', 'W', 'NW'],
  },

  explorer: {
    choose: 'Readings shown',
    closer: 'Closer',
    wider: 'Wider',
    earlier: 'Earlier',
    later: 'Later',
    doubted: 'Show doubted readings',
    keys: 'With the chart in focus: + and − zoom, arrow keys read, Shift and arrow keys move, 0 goes back to seven days. Wheel or two fingers zoom, dragging moves.',
    suspect: 'suspect',
    fail: 'failed',
    leftOut: (suspect: number, fail: number) =>
      `${plural(suspect, 'suspect reading', 'suspect readings')} and ${plural(fail, 'failed reading', 'failed readings')} are not in the line.`,
    loading: 'Reading…',
    readout: (label: string, value: string) => `${label} ${value}`,
    label: (labels: string) => `${labels} over time`,
    quality: 'Quality',
    value: 'Value',
    failedTests: (tests: string) => `found by ${tests}`,
  },

  replay: {
    from: 'From',
    to: 'To',
    show: 'Show',
    play: 'Play',
    pause: 'Pause',
    scrub: 'Moment',
    lanes: {
      state: 'state',
      charge: 'charge, %',
      power: 'panel and load, W',
      weather: 'weather',
      alerts: 'alerts',
      people: 'people and node',
    },
    caption: (from: string, to: string, alerts: number, events: number) =>
      `From ${from} to ${to}: ${plural(alerts, 'alert', 'alerts')}, ${plural(events, 'line', 'lines')} in the logbook.`,
    nothing: 'nothing heard',
    at: 'At this moment',
    kind: 'Kind',
    what: 'What',
    when: 'When',
    by: 'By',
    alert: 'alert',
    state: 'state',
    event: 'logbook',
    rules: 'the rules',
    badPeriod: 'The end must lie after the beginning, by a year at most.',
  },

  parts: {
    none: 'No part has been written down yet. Serials and dates here begin a story that a replacement keeps.',
    kind: 'Part',
    maker: 'Maker and type',
    serial: 'Serial',
    fitted: 'Fitted',
    life: 'Life',
    rated: 'Plate',
    illegible: 'cannot be read',
    there: (age: string) => `there for ${age}`,
    was: (age: string) => `was there for ${age}`,
    removed: 'Taken out',
    former: (count: number) => plural(count, 'part that was here', 'parts that were here'),
    calibration: 'Calibrated',
    kinds: {
      panel: 'panel',
      battery: 'battery',
      charger: 'charger',
      sensor: 'sensor',
      radio: 'radio',
      board: 'board',
    },
    plateOf: { panel: 'Plate, W (empty: as before)', battery: 'Plate, Wh (empty: as before)' },
    replace: 'Replace',
    replaceDo: 'Put this one in its place',
    takeOut: 'Take out',
    takeOutDo: 'It is out',
    removedOn: 'Taken out on',
    cautions: {
      battery:
        'Never part a battery under load; lithium cells can burn: leave one alone that is swollen, hot or leaking.',
      panel:
        'A panel in daylight is live: cover it before you part a connector. Work at height needs a plan and a second person.',
    },
    add: 'Write a part down',
    submit: 'Add part',
    notes: 'Notes',
    fittedOn: 'Fitted on',
    failed: 'That was not kept.',
  },

  noCall: {
    stop: (rule: string, days: number, percent: number) =>
      `No alert is open: the rule “${rule}” calls at a chance of ${percent} % within ${days} days, and the chance told here is of 7 days.`,
    battery: (rule: string, percent: number, cycles: number) =>
      `No alert of the battery is open: the rule “${rule}” calls when it holds less than ${percent} % of its rating in ${cycles} deep cycles, and has for a day. What stands here is read from the shape of its days, which is sooner known and less sure.`,
    rules: 'Change it under Rules.',
  },

  advice: {
    go: (byWhen: string, todo: string, who: string) => `Act: ${byWhen}. ${todo} ${who}`,
    nobody: 'Nobody has it yet.',
    has: (who: string) => `${who} has it.`,
    handed: (to: string) => `It was handed to ${to}, who has not taken it yet.`,
    waitUntil: (days: string) =>
      `Wait: expected back ${days}, by the latest outlook. Nobody needs to go. When it counts as overdue, and when somebody is told, stands under What will settle it.`,
    waitUnknown:
      'Wait: nobody needs to go yet. If it stays away longer than its charge explains, the rule Overdue calls somebody.',
    paused: (until: string, by: string, why: string) =>
      `Wait: ${by} paused its alert until ${until}, and it calls nobody before. The reason given: ${why}`,
    notToday: (days: string) =>
      `Nothing today: no alert is open. It would stop ${days}; the latest safe day for a visit stands under Rounds.`,
    neverHeard:
      'Waiting for its first message. Put the secret on the node and start it; the steps, ticked off as it proves them, stand under Setup, Put up a node.',
    weighed:
      'Wait some minutes: the causes are being weighed, and an alert follows if somebody must go.',
    linkDown:
      'Not this node: the link that several share is down. Nobody needs to go here; what it logged comes when the link is back.',
    offForWork: 'Wait: it is off for work, and says by itself when it is back.',
  },

  photos: {
    add: 'Add a picture',
    file: 'Picture',
    caption: 'What it shows',
    of: 'Of',
    site: 'the site',
    submit: 'Add picture',
    remove: 'Take away',
    removeOne: (shows: string) => `Take away the picture ${shows}`,
    untitled: 'A picture of the site',
    private:
      'Made smaller before it is sent, at most 1600 px; where and when it was taken is left out. Only those who go there see pictures. No people, no number plates.',
    failed: 'The picture was not kept.',
    unreadable: 'This browser cannot read the file as a picture: take a JPEG or PNG.',
  },

  settings: {
    never:
      'The node has not said what settings it follows. Nodes that run the field program answer when they next connect.',
    own: 'Nobody has asked it for anything: it goes by its own configuration.',
    inForce: 'In force, by the node’s own word',
    requested: 'Asked for last',
    log: 'Logs every',
    publish: 'Publishes every',
    until: 'Until',
    noEnd: 'further notice',
    unchanged: 'as configured',
    asked: (who: string) => `asked by ${who}, `,
    waiting: 'not answered yet: it waits at the broker until the node comes by',
    answered: 'taken ',
    refused: (why: string) => `Not followed: ${why}.`,
    ask: 'Ask for other settings',
    logField: 'Log every, s',
    publishField: 'Publish every, s',
    untilField: 'Until (site’s day, from 00:00)',
    submit: 'Ask the node',
    goBack: 'Ask it to go back to its own configuration',
    failed: 'That was not sent. Try again.',
    earlier: (count: number) => plural(count, 'earlier request', 'earlier requests'),
    mayNot: 'Your role may read this; a builder or coordinator may ask for other settings.',
  },

  logbook: {
    none: 'Nothing was written in the last sixty days.',
    note: 'A line for the logbook',
    add: 'Write it down',
    written: 'Written down: it stands in the logbook now.',
    failed: 'That was not kept. Try again.',
    by: 'by',
    kinds: {
      'dark-as-designed': 'dark as designed',
      'first-light': 'back again',
      'snow-probable': 'snow, probably',
      'charge-blocked': 'charge blocked',
      boot: 'start',
      settings: 'settings',
      visit: 'visit',
      part: 'part',
      note: 'note',
    } as Readonly<Record<string, string>>,
    more: (count: number) => `Show all ${count}`,
  },
} as const;

import type { NodeState, Role } from '@duskline/domain';
import type { GroupKey, SortKey } from '../fleet/fleet-query.ts';

const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

/** Every English word on the screens, but for those that domain and server say (states, alerts, the fleet's sentence). */
export const text = {
  program: 'Duskline',
  skip: 'To the content',
  notLive: (asOf: string) => `as of ${asOf} · not live`,
  live: 'live',
  fromDevice: (since: string) => `no coverage · last known, from ${since}`,
  signOut: 'Sign out',
  times: { site: 'times at the sites', reader: 'times on your clock' },
  readerTime: (time: string) => `${time} on your clock`,
  nav: {
    label: 'Pages',
    fleet: 'Fleet',
    setup: 'Setup',
    quarantine: 'Quarantine',
    ask: 'Ask for data',
    putUp: 'Put up a node',
    under: (name: string) => `Under ${name}`,
  },

  signIn: {
    title: 'Sign in',
    sentence: 'Who is looking?',
    email: 'E-mail',
    password: 'Password',
    submit: 'Sign in',
    wrong: 'E-mail and password do not belong together.',
  },

  failure: {
    title: 'That did not work.',
    unreachable: 'The server does not answer. Check the connection, then try again.',
    notFound: 'There is no such page, or no such site.',
    notAllowed: 'Your role does not allow that.',
    again: 'Try again',
    home: 'Back to the fleet',
  },

  fleet: {
    title: 'Fleet',
    caption: (shown: number, all: number) =>
      `${shown} of ${plural(all, 'site', 'sites')}: seven days of charge, now, and the outlook of fourteen days`,
    site: 'Site',
    state: 'State',
    strip: 'Seven days past, fourteen days ahead',
    days: ['Days to', 'empty'],
    daysRange: '80 %',
    charge: 'Charge',
    heard: 'Last heard',
    now: (time: string) => `now · ${time}`,
    ago: (age: string) => (age === 'now' ? 'now' : `${age} ago`),
    forSpan: (age: string) => `for ${age}`,
    never: 'never',
    search: 'Find a site',
    searchKey: 'press / to search',
    filter: 'Show',
    all: (count: number) => `all ${count}`,
    needSomeone: (count: number) => `need someone ${count}`,
    sortBy: 'Sort by',
    sortNames: {
      urgency: 'who needs someone',
      name: 'name',
      charge: 'charge',
      days: 'days to empty',
      heard: 'last heard',
    } satisfies Record<SortKey, string>,
    groupBy: 'Under headings',
    groupNames: {
      none: 'none',
      state: 'by state',
      when: 'by when it could stop',
    } satisfies Record<GroupKey, string>,
    groupHeading: (heading: string, count: number) =>
      `${heading}, ${plural(count, 'site', 'sites')}`,
    when: {
      gone: 'dark or not heard now',
      week: 'could stop within seven days',
      fortnight: 'could stop in the week after',
      later: 'not expected to stop within fourteen days',
    },
    orderChanged: 'The order has changed.',
    sortAgain: 'Sort again',
    noneShown: 'No site is like that.',
    showAll: 'Show all sites',
    openAlert: (site: string) => `Alert of ${site}: what to do`,
    nobody: 'nobody has this yet',
    has: (who: string) => `${who} has this`,
    more: (count: number) => `+${count}`,
    endedUnseen: 'ended, unseen',
    keyboard: 'Arrow keys move between sites, Enter opens one, / searches.',
    changed: (site: string, state: string) => `${site} is now ${state}.`,
    newAlert: (sentence: string) => `New alert: ${sentence}`,
  },

  note: {
    stops: (days: string) => `would stop ${days}`,
    back: (days: string) => `expected back ${days}`,
    backPast: (days: string) => `was expected back ${days}`,
    outOfReach: (days: number) => `no return in sight within ${days} days`,
    tooLittle: (have: number, need: number, missing: string) =>
      `no outlook yet: ${have} of ${need} ${missing}`,
  },

  days: {
    unknown: '—',
    unit: 'd',
    beyond: (days: number) => `${days}+`,
    sentence: (middle: string, range: string) => `${middle} days to empty, 80 % range ${range}`,
    beyondSentence: (days: number) => `not expected to empty within ${days} days`,
    noneSentence: 'no days to empty',
  },

  key: {
    title: 'How to read a row',
    charge: 'charge, the last seven days; a break is silence',
    outlook: 'outlook: eight in ten futures lie in the band, half above the dashes',
    stops: 'the days in which the node would stop, at its shut-down level',
    absence: 'nothing heard',
    back: 'expected back',
    backPast: 'should have been back',
    night: 'night at the site',
  },

  site: {
    evidence: 'What speaks for it',
    settledBy: 'What will settle it',
    since: (moment: string, age: string) => `Since ${moment}, ${age} ago.`,
    noNode: 'No node has been set up here yet.',
    alerts: 'What needs doing',
    charge: 'Charge and outlook',
    balance: 'Harvest and load by day',
    readings: 'Readings',
    latest: 'Latest readings',
    intervals: 'The last sixty days',
    facts: 'Parts and place',
    access: 'Access',
    hazards: 'Hazards',
    back: 'All sites',
    stops: (days: string) => `; it would stop ${days}`,
    returns: (days: string) => `, expected back ${days}`,
    returned: (days: string) => `: it was expected back ${days}`,
    staysUp: (days: number) => `, and should not empty within ${days} days`,
    chargeNow: (charge: string, band: string, method: string) =>
      `Charge ${charge} ${band}, ${method}.`,
    underOne: 'Under 1 %',
    chance: (chance: string) => `${chance} chance of going dark within 7 days.`,
    heard: (moment: string, age: string) => `Last heard ${moment}, ${age} ago.`,
    neverHeard: 'Never heard yet.',
    noAlerts: 'Nothing needs doing.',
    noIntervals: 'Nothing is known of its past yet.',
    noLatest: 'No reading has come yet.',
    noReadings: 'There is nothing to draw yet.',
    from: 'From',
    lasted: 'Lasted',
    why: 'Why',
    reading: 'Reading',
    value: 'Value',
    age: 'Age',
  },

  chart: {
    table: 'The same as a table',
    charge: 'Charge',
    chargeAxis: 'charge, %',
    nothing: 'Nothing was heard in this time.',
    chargeMoved: (from: string, to: string) =>
      from === to
        ? `Charge stood near ${to} over seven days`
        : `Charge went from ${from} to ${to} in seven days`,
    chargeAhead: (low: string, high: string, day: string) =>
      `; ${/^\d/.test(day) ? 'on ' : ''}${day} eight futures in ten lie between ${low} and ${high}.`,
    noOutlook: '; there is no outlook.',
    energyMean: (harvest: string, load: string) =>
      `Harvest ${harvest} and load ${load} a day on the days heard`,
    daysMissing: (count: number) =>
      count === 0 ? '.' : `; ${plural(count, 'day is', 'days are')} missing.`,
    valueRan: (label: string, low: string, high: string, last: string) =>
      `${label} ran from ${low} to ${high}, ${last} at the end`,
    silence: (length: string) => `; the longest silence was ${length}.`,
    noSilence: ', without a gap.',
    summedUp: (count: string, step: string) =>
      ` ${count} readings; of each ${step} the mean, the least and the greatest are drawn.`,
    lookAlong: (title: string) => `${title}: arrow keys read it out`,
    byDay: (harvest: string, load: string) => `harvest ${harvest}, load ${load}`,
    nothingHere: 'nothing heard',
    shutDown: (level: string) => `shut-down ${level}`,
    restart: (level: string) => `restart ${level}`,
    time: 'Time',
    p10: 'P10',
    p50: 'P50',
    p90: 'P90',
    between: (low: string, high: string) => `${low} to ${high}`,
    median: (value: string) => `median ${value}`,
    harvest: 'Harvest',
    load: 'Load',
    energyAxis: 'energy, Wh',
    day: 'Day',
    hoursHeard: 'Hours heard',
    mean: 'Mean',
    least: 'Least',
    greatest: 'Greatest',
    count: 'Readings',
    metric: 'Reading',
    range: 'Time shown',
    ranges: { '1d': '1 day', '7d': '7 days', '30d': '30 days', '1y': '1 year' },
    source: {
      raw: 'every reading',
      hour: 'hourly means, with least and greatest',
      day: 'daily means, with least and greatest',
    },
  },

  alert: {
    byWhen: 'by when',
    todo: 'do',
    bring: 'bring',
    who: 'who',
    take: 'I take this',
    seen: 'I have seen it',
    takenBy: (who: string, moment: string) => `${who}, since ${moment}`,
    ended: (moment: string) => `It ended by itself ${moment}; nobody had taken it.`,
    close: 'Close',
    openSite: 'The whole site',
    failed: 'That was not recorded. Try again.',
    licensed: 'Work that local rules reserve to licensed people must be done by them.',
    priority: { P1: 'now, day or night', P2: 'today', P3: 'within the week' },
  },

  facts: {
    panel: 'Panel',
    panelValue: (watt: string, tilt: string, azimuth: string) =>
      `${watt}, tilted ${tilt}, facing ${azimuth}`,
    battery: 'Battery',
    cells: (count: number) => plural(count, 'cell in series', 'cells in series'),
    charger: 'Charger',
    chargers: { mppt: 'follows the panel’s best point', direct: 'direct' } as Readonly<
      Record<string, string>
    >,
    levels: 'Levels',
    levelsValue: (shutDown: string, restart: string) =>
      `stops at ${shutDown}, comes back at ${restart}`,
    offStateDraw: 'Off-state draw',
    usualGap: 'Speaks every',
    positionValue: (place: string, exact: boolean) =>
      exact ? place : `${place}, within about 800 m: the exact place is told to those who go there`,
    position: 'Position',
    node: 'Node',
    reserve: 'Reserve',
    reserveValue: (energy: string, days: string) =>
      `${energy} above the shut-down level, ${days} without sun`,
    expected: 'Next seven days',
    expectedValue: (harvest: string, load: string) =>
      `harvest ${harvest} a day, load ${load} a day`,
    learned: 'Learned from',
    learnedValue: (days: number, ratio: string) =>
      `${plural(days, 'day', 'days')} of its own; it harvests ${ratio} of a clear sky`,
  },

  setup: {
    title: 'Setup',
    sentence: 'Put a node at a place.',
    place: 'The place',
    name: 'Name',
    id: 'Short name in addresses',
    idHelp: 'small letters, digits and hyphens',
    latitude: 'Latitude, ° (north positive)',
    longitude: 'Longitude, ° (east positive)',
    elevation: 'Height above sea, m',
    timeZone: 'Time zone',
    access: 'Access (gate, key, path)',
    hazards: 'Hazards',
    node: 'The node',
    nodeName: 'Its name on the wire',
    panelW: 'Panel, W',
    tilt: 'Tilt, ° (0 flat, 90 upright)',
    azimuth: 'Facing, ° from north, clockwise',
    chemistry: 'Battery chemistry',
    batteryWh: 'Battery, Wh',
    seriesCells: 'Cells in series',
    charger: 'Charger',
    shutDown: 'Shut-down level, %',
    restart: 'Restart level, %',
    offStateDraw: 'Drawn while shut down, W',
    usualGap: 'Seconds between messages',
    submit: 'Add site and node',
    own: {
      choose: 'A battery of its own: by its label and data sheet',
      name: 'As on its label',
      chargeFrom: 'May be charged from, °C (cell)',
      chargeTo: 'May be charged up to, °C',
      useFrom: 'May be used from, °C',
      useTo: 'May be used up to, °C',
      curve: 'Rest voltage of the pack: charge in % and volts, a pair a line, from empty to full',
      curveHelp: 'such as 0 12.0 on the first line and 100 13.6 on the last',
      wrong: (line: number) =>
        `Line ${line} is no pair of charge (0 to 100 %) and voltage (V), both above the line before.`,
      notRead: 'The curve of the battery cannot be read yet.',
      caution:
        'Take these from the maker’s data sheet, not from memory: a lithium battery charged below the temperature its maker allows is damaged and can burn.',
    },
    levelsWrong: 'The restart level must lie above the shut-down level.',
    secretTitle: (site: string) => `${site} is set up.`,
    secretOnce: 'This secret is shown once. Take it to the node now.',
    secret: 'The secret, for a file on the node that only its own user may read',
    settings: 'Settings of the field program; change its columns to those of your log',
    tryIt: 'Try it by hand',
    copy: 'Copy',
    copied: 'Copied',
    another: 'Add another site',
    open: 'Open the site',
    siteStays: 'The place was added, the node was not.',
  },

  quarantine: {
    title: 'Quarantine',
    sentence: (count: number) =>
      count === 0
        ? 'No message waits: every one that came could be read, or was taken in later.'
        : `${plural(count, 'message', 'messages')} could not be accepted, and ${count === 1 ? 'is' : 'are'} kept whole.`,
    overCap: (count: number) =>
      `${plural(count, 'more message', 'more messages')} came above the 10,000 that are kept of one node and day: counted, not kept.`,
    strangers: (count: number) =>
      count === 1
        ? 'Somebody came under a name that no node here has.'
        : `${count} names came that no node here has.`,
    adopt:
      'If it is yours, add a node of exactly this name in Setup; then take its messages in from here. If it is not, nothing of it is stored.',
    lastSeen: 'last',
    byReason: 'By reason',
    byNode: 'By node',
    keptHead: 'kept',
    receivedHead: 'times received',
    code: (code: string) => code.replaceAll('-', ' '),
    payload: (count: number) => `Message, ${plural(count, 'byte', 'bytes')}`,
    empty: 'Nothing of its content was kept.',
    asText: 'As text',
    asBytes: 'As bytes: place, hexadecimal, letters (the first 4 KB)',
    times: (count: number) => `came ${plural(count, 'time', 'times')}`,
    unknownNode: 'no node named',
    replayAll: 'Take in all that can be read now',
    replayChosen: 'Take in what is chosen',
    replayOne: 'Take in this one',
    replayNote:
      'After a fix, or once a node was added. Readings come in once, however often you ask.',
    showAll: 'Show all',
    older: 'Older ones',
    busy: 'Trying…',
    outcome: (sum: { takenIn: number; alreadyThere: number; stillRefused: number }) =>
      [
        `${plural(sum.takenIn, 'message', 'messages')} taken in`,
        ...(sum.alreadyThere > 0 ? [`${sum.alreadyThere} stored already`] : []),
        ...(sum.stillRefused > 0
          ? [`${sum.stillRefused} still not readable, each says why below`]
          : []),
      ].join(', ') + '.',
  },

  chemistry: {
    'li-ion-nmc': 'lithium-ion (NMC)',
    'li-ion-lco': 'lithium-ion (LCO)',
    lifepo4: 'lithium iron phosphate',
    'lead-acid-flooded': 'lead-acid, flooded',
    'lead-acid-agm': 'lead-acid, AGM',
    nimh: 'nickel–metal hydride',
  } as Readonly<Record<string, string>>,

  chargeMethod: {
    gauge: 'from the node’s own gauge',
    'rest-voltage': 'from the voltage at rest',
    'loaded-voltage': 'from the voltage under load',
    counted: 'counted from harvest and load',
  } as Readonly<Record<string, string>>,

  role: {
    viewer: 'viewer',
    analyst: 'analyst',
    volunteer: 'volunteer',
    builder: 'builder',
    coordinator: 'coordinator',
    keeper: 'keeper',
  } satisfies Record<Role, string>,

  siteSentence: {
    up: (site: string) => `${site} is up`,
    low: (site: string) => `${site} is low`,
    'dark-as-designed': (site: string) => `${site} is dark as designed`,
    overdue: (site: string) => `${site} is overdue`,
    'silent-unexplained': (site: string) => `${site} is silent, unexplained`,
    'link-down': (site: string) => `${site} is cut off: its link is down`,
    'off-for-work': (site: string) => `${site} is off for work`,
    'not-yet-proved': (site: string) => `${site} is not yet proved`,
    retired: (site: string) => `${site} is retired`,
  } satisfies Record<NodeState, (site: string) => string>,
} as const;

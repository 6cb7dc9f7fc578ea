import type { NodeState } from '@duskline/domain';

/** What the help page says, and the guide of a first start. */
export const helpText = {
  nav: 'Help',
  title: 'Help',
  sentence: 'What the pages say, and what they do not.',
  contents: 'On this page',

  outlook: {
    title: 'The outlook',
    paragraphs: [
      'Days to empty is how long until a node’s charge reaches its shut-down level, where it switches itself off in good order. It is a range, because nobody knows the weather: in eight cases out of ten the day lies in it, in one it comes sooner, in one later or never.',
      'It is found by walking the node’s own balance through some hundreds of possible weathers: how much its panel has harvested under its own sky, how much it draws, how much its battery still holds. What it learns of a node it keeps, and forgets again when a part is changed.',
      'Once a node is dark, the outlook says when it is expected back: when the charge will have risen to its restart level. Until then its silence is by design and asks for nobody.',
      'Where the panel’s connector or the charger has failed, by all that is known, the outlook reckons without harvest and says so: it tells what comes if nobody mends it. Such an outlook is not counted in the score, for somebody should mend it.',
      'Where there is too little to go on, there is no figure. The page says what is missing and how much of it.',
      'Whether the ranges hold is counted. Every outlook is graded when its time is over, and the Score page shows how often it was right.',
    ],
  },

  states: {
    title: 'The states of a node',
    gloss: (word: string, meaning: string) =>
      `${word.charAt(0).toUpperCase()}${word.slice(1)}: ${meaning}`,
    meaning: {
      up: 'It speaks as often as it should, above its shut-down level with room to spare.',
      low: 'It is up, but its charge is close to the shut-down level.',
      'dark-as-designed':
        'It switched itself off in good order for want of charge; the sun brings it back, and it is not due yet.',
      overdue: 'It was dark as designed and should be back by now.',
      'silent-unexplained': 'It stopped speaking, and its charge does not explain it.',
      'link-down':
        'What is between it and here is down: its neighbours on the same link are quiet too.',
      'off-for-work': 'Somebody said they are working on it.',
      'not-yet-proved':
        'It was set up, and has not shown yet what a good node shows: a first message, charge, a right clock, signal, sensors.',
      retired: 'It is no longer in service.',
    } satisfies Record<NodeState, string>,
  },

  words: {
    title: 'Words',
    more: 'All words',
    list: [
      ['site', 'a place: position, horizon, access, hazards, people'],
      ['node', 'the computer at a site that publishes'],
      [
        'part',
        'something at a site with a serial and a life: panel, battery, charger, sensor, radio',
      ],
      ['reading', 'one value of one quantity at one time, with its quality'],
      [
        'charge',
        'what the battery holds, in percent of what it can hold now, with a band and how it was found',
      ],
      ['shut-down level', 'the charge at which a node stops itself'],
      ['restart level', 'the charge at which it comes back'],
      ['reserve', 'the energy above the shut-down level, in watt-hours'],
      ['harvest, load', 'energy in from the panel, energy out to the node'],
      [
        'shutting down, sending again',
        'at its shut-down level a node says in its last message that it is shutting down, and stops; when the sun has brought the charge to the restart level, mostly after some dawns, it sends again',
      ],
      [
        'weather histories',
        'the weather ahead, drawn many times over from days that really were: a chance is the share of them in which it comes so',
      ],
      ['alert', 'something a person must act on: what, by when, what to do, what to bring'],
      ['event', 'something recorded that nobody must act on'],
      ['visit, round', 'one trip to one site; several sites in one trip'],
      ['thrift', 'less logging to save energy, until a stated date'],
      ['quarantine', 'where a message that could not be accepted is kept whole, with its reason'],
    ],
  },

  alerts: {
    title: 'Alerts',
    paragraphs: [
      'An alert is new until somebody takes it. Then everybody sees who has it, and it stops asking others. When what it was about is over, it ends by itself; one that ended before anybody saw it stays until it is seen.',
      'Each says by when: now, day or night; today; or within the week. Messages to other programs call these P1, P2 and P3. What nobody must act on is an event and rings nobody.',
      'Nothing here is an emergency service. If a person may be in danger, call the emergency number of the country.',
    ],
  },

  reading: {
    title: 'Reading the pages',
    list: [
      'Times are the site’s own, with the hours it is ahead of UTC; hold the pointer over one, or tap it, for the time on your clock.',
      'A gap in a line is a gap in what was heard. Nothing is drawn across it.',
      'A band is a forecast: eight futures in ten lie in it.',
      'Under every chart is the same as a table.',
      'On the fleet page, / goes to the search, arrow keys go from site to site, Enter opens one.',
      'Sort, headings, search and what is shown stand in the address: keep it or send it on.',
      'Without coverage the pages show what was known last on this device, and say from when. Signing out empties it.',
    ],
  },

  cautions: {
    title: 'Before you go out',
    intro:
      'Solar nodes are small, and still can hurt people. These are the usual cautions; local codes, the makers’ instructions and the judgement of whoever is there go first.',
    list: [
      'Lithium cells burn when crushed, shorted, overcharged, or charged below 0 °C. Do not open or carry a swollen or hot one: step away and leave it to people trained for it.',
      'Lead–acid batteries give off gas that explodes and hold acid: ventilate, no flames, protect the eyes.',
      'A battery can drive hundreds of amperes through a dropped spanner or a ring. Take metal off your hands; disconnect at the fuse first.',
      'A panel in daylight cannot be switched off. Cover it before you work on its leads.',
      'Above mains voltage, and wherever local rules reserve the work, let licensed people do it.',
      'Masts, roofs and ladders: not alone, not in wind, ice or thunder, not without training and gear.',
      'Tell somebody where you go and when you will be back, and report back. Daylight is short in the months in which nodes go dark.',
      'Water, bog, tide and snow: a node can wait until tomorrow.',
    ],
  },

  start: {
    title: 'The first hour',
    sentence: 'Nothing is here yet. Four steps, and the first node stands on this page.',
    steps: [
      {
        title: 'Put a node at a place.',
        body: 'Position, panel, battery and the two levels. Every outlook begins from them.',
        link: { href: '/setup', name: 'Set up a site and its node' },
      },
      {
        title: 'Take its settings to the box.',
        body: 'The page shows its secret once, with a settings file and a square code to scan.',
        link: undefined,
      },
      {
        title: 'Wait for its first message.',
        body: 'The same page turns green line by line: heard, charge seen, clock right, signal, sensors.',
        link: undefined,
      },
      {
        title: 'Ask whether it will live through its worst month.',
        body: 'Before you climb down, and before you buy.',
        link: { href: '/sizing', name: 'Sizing' },
      },
    ],
    pastTitle: 'You have logs already?',
    past: 'Bring a memory card home: its past is dated, checked and learnt from.',
    pastLink: { href: '/data/import', name: 'Bring in a card' },
    askKeeper: 'Your role may not set up sites. Ask a keeper or a builder.',
  },
} as const;

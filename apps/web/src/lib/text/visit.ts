import { plural } from './plural.ts';

const latestNow = 'now';
const lightLeft = (left: string | undefined): string =>
  left === undefined
    ? 'no daylight is left there with half an hour in hand'
    : `${left} of daylight are left there with half an hour in hand`;

/** The words of Rounds and of a visit. */
export const visitText = {
  title: 'Rounds',
  visitTitle: (site: string) => `Visit: ${site}`,
  failed: (why: string) => `That was not recorded. ${why}`,
  none: 'None.',

  coming: {
    planned: (at: string, who: string) => `planned for ${at} by ${who}`,
    underWay: (who: string, by: string) => `under way: ${who}, to be back by ${by}`,
    visit: (says: string, why: string) => `Visit ${says}: ${why}`,
    untold: (at: string, who: string) =>
      `A visit was planned for ${at} by ${who}; nobody has said what became of it.`,
    untoldDo: 'Say what became of it',
    untoldWord: 'time is over',
    shortly: (day: string) => `visit ${day}`,
    now: 'visit under way',
    by: (who: string) => `by ${who}`,
    title: 'Visits planned, and under way',
    none: 'No visit is planned for the next four weeks.',
  },

  /** One date for each site, said alike on Watch, Rounds, visits and field sheets. */
  latest: {
    now: latestNow,
    name: 'latest safe date',
    is: 'Latest safe date:',
    what: 'What that is, and what sets it',
    about:
      'by when somebody must have been at the site: the earliest of what its alerts ask for and of the day by which its outlook gives one chance in ten that it has stopped. The “by when” of an alert is how soon somebody takes it in hand.',
    late: (says: string) => `The visit comes ${says}: move it, or go sooner.`,
    paused: (until: string) => `paused until ${until}; the date stays`,
    pausedAt: (site: string, until: string) =>
      `${site}: its alert is paused until ${until}, and the date stays.`,
  },

  landOwner: {
    name: 'land-owner',
    none: 'No number is written down.',
    enter: 'Write it on the field sheet',
    title: 'Whom to call of the land-owner',
    lead: 'Called before anybody drives there: they are nearer. Those who go there see it; nobody else does.',
    who: 'Name',
    phone: 'Telephone',
    submit: 'Keep it',
    kept: 'Kept.',
    noNumber: 'Write the number with digits, spaces, +, - and brackets only.',
  },

  rounds: {
    sentence: (needy: number, first: string | undefined, by: string): string =>
      needy === 0
        ? 'Nobody has to drive anywhere within a week, as far as can be told.'
        : `${plural(needy, 'site wants', 'sites want')} somebody there within a week; the first is ${first ?? ''}, ${by}.`,
    by: (latest: string) => (latest === latestNow ? latest : `by ${latest}`),
    unknown: (count: number): string =>
      count === 0
        ? ''
        : `Of ${plural(count, 'site', 'sites')} nothing can be told: the reason stands below.`,
    fleetToo: (names: string, count: number) =>
      `The fleet page counts ${names} as well: ${count === 1 ? 'it needs' : 'they need'} someone, but no trip within a week.`,
    fleetNotYet: (names: string) =>
      `The fleet page does not count ${names}: no alert calls anybody there now (none is open, or it is paused), and the latest safe date stays.`,
    fleetToRounds: (count: number, isMore: boolean): string =>
      isMore
        ? `No alert calls anybody to ${count} more, but ${count === 1 ? 'its' : 'their'} latest safe date is this week:`
        : `${plural(count, 'site has', 'sites have')} a latest safe date this week:`,
    fleetSame: 'They are the sites that need someone on the fleet page.',
    andMore: (count: number) => `${count} more`,
    suggested: 'Suggested rounds',
    suggestedNote:
      'Put together by latest safe date, distance and a day’s light. A suggestion: it knows no roads, no gates and no weather.',
    start: {
      inLight: (moment: string) =>
        `Set out ${moment} at the soonest: that ends half an hour before dark, or earlier.`,
      notToday: (left: string | undefined, trip: string, moment: string) =>
        `Not today: ${lightLeft(left)}, and it takes about ${trip}. Set out ${moment} at the soonest.`,
      intoDark: (left: string | undefined, trip: string) =>
        `It does not fit: ${lightLeft(left)}, and it takes about ${trip}; tomorrow is after the latest safe date. `,
      intoDarkSo: (moment: string, stops: number) =>
        stops > 1
          ? `Go to the first stops today, ${moment} at the soonest, and leave the rest for tomorrow.`
          : `Whoever sets out today, ${moment} at the soonest, comes back in the dark.`,
      tooLong: (light: string | undefined, trip: string) =>
        `Longer than a day there: ${light ?? 'no time'} of daylight with half an hour in hand, and it takes about ${trip}. Split it, or begin and end the way in the dark.`,
      noLight: 'The sun does not rise there these days: reckon with the dark.',
      late: 'That is after the latest safe date.',
    },
    nothingToSuggest: 'Every site that wants somebody has a visit planned.',
    plannedTooLate: (names: string, count: number) =>
      `The visit to ${names} comes after the latest safe date${count === 1 ? ': move it' : ': move them'}, or go sooner.`,
    asPlanned: (names: string) => `Planned: ${names}.`,
    stopPlanned: (site: string, moment: string, who: string) => `${site} ${moment} by ${who}`,
    round: (place: number) => `Round ${place}`,
    way: (km: string, hours: string, fromHome: boolean) =>
      `${km} as the crow flies, about ${hours} with the work${fromHome ? '' : ', from the first site to the last'}`,
    work: (hours: string) => `about ${hours} of work; the way is not counted`,
    saves: (days: string, perHour: string) =>
      `saves ${days} of data, ${perHour} for each of those hours`,
    savesNothing: 'saves no days of data within the next fourteen',
    be: (by: string) => `to be driven ${by}`,
    then: 'then',
    drawn: 'The way as distances along a line, kilometres as the crow flies',
    bring: 'To bring',
    bringFor: (sites: string) => `for ${sites}`,
    plan: 'Plan this round',
    sites: 'Every site',
    caption:
      'Latest safe date, and what a trip there alone would save. Times are those of the site.',
    site: 'Site',
    latest: 'Latest safe date',
    noNeed: 'needs nobody',
    noNeedUntil: (until: string) => `needs nobody before ${until}`,
    cannotTell: 'cannot tell',
    light: (from: string, until: string) => `last daylight ${from} to ${until}`,
    noLight: 'no daylight left before it',
    why: 'Why',
    worth: 'Worth the drive',
    worthValue: (perHour: string, fromHome: boolean) =>
      fromHome ? `${perHour} an hour of the trip` : `${perHour} an hour of work`,
    worthTip: (days: string, hours: string, fromHome: boolean) =>
      fromHome
        ? `${days} saved, ${hours} with the work, there and back`
        : `${days} saved, ${hours} of work; the way is not counted`,
    visits: 'Visits',
    plannedBy: (who: string, at: string) => `${who}, ${at}`,
    tooLate: (latest: string) => `after the latest safe date, ${latest}`,
    tooLateNow: 'after the latest safe date, which is now',
    lastVisit: (at: string) => `last ${at}`,
    noVisit: 'no visit yet',
    from: 'Trips begin at',
    fromNowhere: 'nowhere: only the ways between sites',
    fromSite: 'a site',
    fromPlace: 'Latitude, longitude in degrees',
    fromExample: 'for instance 54.47, -2.28',
    fromDo: 'Reckon from there',
    fromWrong: 'Write latitude and longitude in degrees, with a comma between them.',
    ahead: 'Planned, and under way',
    noneAhead: 'No visit is planned.',
    past: 'What visits brought',
    nonePast: 'No visit has been reported yet.',
    fieldSheet: 'Field sheet',
    code: 'A code for the box',
    codeNote:
      'Whoever stands there reads the site, its last known state and the steps, also without coverage if they have opened it before.',
    when: (zone: string) => `Set out, on your clock (${zone})`,
    who: 'Who goes',
    oneself: (name: string) => `you: ${name}`,
    reason: 'Why (needed)',
    noWhen: 'Choose a day and a time.',
    timeOver:
      'That time is over: choose one to come. Who has been there already begins a visit on the field sheet and reports it.',
    noWhy: 'Say why: whoever goes reads it.',
    inTheDark: (light: string) => `in the dark; it gets light at ${light}`,
    order: 'Set out for each, if way and work take as long as reckoned above:',
    stopAt: (moment: string, site: string) => `${moment}: ${site}`,
    backByLater: 'When to be back is asked when they set out; the watch over them begins then.',
    reasonDefault: 'The round of latest safe dates.',
  },

  plan: {
    title: 'Plan a visit',
    again: 'Plan another visit; one is planned already',
    ownAlready: (who: string, at: string) =>
      `${who} has a visit here planned already, for ${at}. Move that one, or plan a second all the same.`,
    wasThere: (who: string, at: string) =>
      `${who} was here that day, back ${at}. Add to that report, or plan a second visit all the same.`,
    otherAlready: (who: string, at: string) => `${who} means to go there already, ${at}.`,
    submit: 'Plan the visit',
    asking: 'Asking what is known of the site …',
    done: (site: string, at: string) => `Planned: ${site}, ${at}.`,
    see: (who: string) => `See it, move it or call it off (${who} goes)`,
  },

  move: {
    title: 'Move it to another time or person',
    submit: 'Move the visit',
    why: 'Why it is moved (needed)',
    leavesRound: 'Moved, it is no longer part of its round: the others stay as they are.',
    done: 'Moved; the logbook says so.',
  },

  calendar: {
    title: 'In your own calendar',
    about:
      'Your visits and your shifts, kept up to date. The address is a secret: whoever has it can read them.',
    since: (moment: string) => `There is an address, made ${moment}.`,
    make: 'Make an address',
    renew: 'Make a new address; the old one is over',
    end: 'End the address',
    once: 'This address is shown once. Paste it into your calendar as one to subscribe to; add ?of=all for everybody’s visits and shifts.',
    ended: 'The address is over.',
  },

  visit: {
    sentence: {
      planned: (who: string, site: string, at: string) =>
        `${who} means to set out for ${site} ${at}.`,
      untold: (who: string, site: string, at: string) =>
        `${who} meant to set out for ${site} ${at}; nobody has said what became of it.`,
      underWay: (who: string, site: string, by: string) =>
        `${who} is out at ${site}, to be back by ${by}.`,
      done: (who: string, site: string, at: string) => `${who} was at ${site}, back ${at}.`,
      calledOff: (site: string, why: string) => `The visit to ${site} was called off: ${why}`,
    },
    late: (length: string) =>
      `Not back, ${length} over the time. The coordinator is alerted. In need, call the emergency services: Duskline is not one.`,
    tooLate: (says: string) => `This visit comes ${says}.`,
    keptHere: (moment: string) =>
      `This page stays readable on this device without coverage. What it knows is of ${moment}.`,
    waiting: (count: number) =>
      `${plural(count, 'step waits', 'steps wait')} on this device until there is coverage.`,
    sent: 'All that you ticked and wrote is recorded.',
    refused: (why: string) => `A step was refused: ${why}`,
    drop: 'Throw away what waits',
    why: 'why',
    inRound: 'In this round',
    here: 'this one',
    place: 'The way there',
    access: 'access',
    hazards: 'hazards',
    position: 'position',
    directions: 'Directions',
    noAccess: 'Nothing is written down.',
    daylight: 'daylight',
    light: (day: string, from: string, until: string, length: string) =>
      `${day} ${from} to ${until}, ${length}`,
    lightLeft: (day: string, from: string, until: string, left: string) =>
      `${day} ${from} to ${until}, ${left} left`,
    noLight: 'The sun does not rise there.',
    known: 'What is known',
    stateSince: (since: string) => `since ${since}`,
    heard: (moment: string) => `Last heard ${moment}.`,
    neverHeard: 'Never heard yet.',
    settledBy: 'settles it',
    movedTerm: 'moved',
    moved: (changes: string, by: string, at: string, why: string) =>
      `${changes}, by ${by}, ${at}: ${why}`,
    movedFrom: (from: string, to: string) => `from ${from} to ${to}`,
    bring: 'To bring',
    every: 'Every visit',
    cautions: 'Before you set out',
    cautionsNote: 'Read and tick each. A tick is no permission for anything.',
    cautionsLeft: (count: number) =>
      count === 0 ? 'All read.' : `${plural(count, 'is', 'are')} not ticked yet.`,
    backBy: (zone: string) => `Back by, on your clock (${zone}) (needed)`,
    backByNote:
      'If you have not said “I’m back” a quarter of an hour after it, the coordinator is alerted. This is not an emergency service, and without coverage your words arrive late: leave your route with somebody as well.',
    companions: 'Who comes along (empty: alone)',
    setOut: 'I set out now',
    dark: (set: string, back: string) =>
      `The sun sets at ${set}: be back by ${back}, half an hour before it.`,
    darkNow: (light: string, back: string) =>
      `It is dark now; it gets light ${light}. In that light, be back by ${back}. Whoever goes in the dark all the same takes a lamp, and better not alone.`,
    darkThen: (light: string, back: string) =>
      `It is dark at that time; it gets light ${light}. In that light, be back by ${back}. Whoever goes in the dark all the same takes a lamp, and better not alone.`,
    darkSoon: (set: string) =>
      `The sun sets at ${set}: too little light is left for a trip that is back half an hour before.`,
    checkList: 'At the site',
    firstThing: 'On arrival',
    lastThing: 'Before you leave',
    cause: (name: string, chance: string | null) => (chance === null ? name : `${name}, ${chance}`),
    noCauses: 'Nothing points to a cause; look it over.',
    note: 'Note',
    noteDo: 'Write it down',
    later: 'I need longer',
    laterDo: 'Tell them',
    back: 'I’m back',
    backLead: 'What you did',
    found: 'What you found',
    backDo: 'I’m back: record the visit',
    callOff: 'Call it off',
    callOffWhy: 'Why nobody goes (needed)',
    callOffDo: 'Call it off',
    report: 'What was reported',
    did: 'did',
    foundTerm: 'found',
    alone: 'alone',
    withWhom: (who: string) => `with ${who}`,
    out: 'out',
    backTerm: 'back',
    verdicts: 'Did it help?',
    verdictDue:
      'The answer comes two whole days after, and fourteen, from the yield before and after with the weather taken out.',
    horizon: { '48h': 'after two whole days', '14d': 'after fourteen days' },
    badDate: 'Choose a time within the next 36 hours.',
    noCallOffWhy: 'Say why nobody goes.',
    sayBackBy: 'Say it when you set out: the trip is planned for later.',
  },

  sheet: {
    title: (site: string) => `Field sheet: ${site}`,
    sentence: (site: string) => `What to know and to do at ${site}.`,
    goNow: 'Begin a visit',
    goNote: 'For going now: it asks before it begins. For another time or person, plan a visit.',
    beginsNow: (clock: string, who: string) =>
      `The visit begins now, ${clock}, and ${who} goes. Next come the cautions; nobody is looked for before you set out.`,
    beginDo: 'Begin it now',
    notNow: 'Not now',
    why: 'Begun without a plan.',
  },
} as const;

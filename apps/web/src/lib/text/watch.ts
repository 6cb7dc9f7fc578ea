const plural = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

/** The words of Watch, and of the page a link in a message opens. */
export const watchText = {
  title: 'Watch',
  sentence: (mine: number, free: number): string => {
    if (mine === 0 && free === 0) return 'Nothing waits for you.';
    const yours = mine === 0 ? 'None is yours' : `${plural(mine, 'alert is', 'alerts are')} yours`;
    return free === 0
      ? `${yours}.`
      : `${yours}; ${free} ${free === 1 ? 'has' : 'have'} nobody yet.`;
  },
  onCall: (until: string) => `You are on call until ${until}.`,
  nextShift: (at: string) => `You are next on call from ${at}.`,
  noShift: 'You are not on the rota.',
  old: (since: string) =>
    `No coverage. This is what was known ${since}; it may have changed, and steps wait for coverage.`,

  parts: {
    mine: 'Yours now',
    free: 'Nobody has these',
    others: 'Others have these',
    paused: 'Paused',
    over: 'Ended, and nobody has seen it',
  },
  noneMine: 'Take one below, or wait for the next call.',
  aboutFleet: 'The fleet',
  act: 'act',
  byWhen: 'by when',
  todo: 'do',
  bring: 'bring',
  who: 'who',
  access: 'access',
  hazards: 'hazards',
  also: 'Also seen, of the same cause',
  alsoDo: (byWhen: string, todo: string, bring: string) =>
    `By when: ${byWhen}. ${todo}${bring === '' ? '' : ` Bring: ${bring}.`}`,
  cautionsAgain: 'The same cautions as above: read them before you go',
  cautions: 'Take care',
  nobody: 'nobody yet',
  asked: (who: string) => `${who} was asked, and has not taken it`,
  since: ', since',
  until: 'until',
  site: 'The whole site',
  goThere: 'Steps for a visit',
  directions: 'Directions',
  call: (who: string) => `Call ${who}`,
  story: (count: number) => `What happened so far, ${plural(count, 'step', 'steps')}`,

  take: 'I take this',
  takeOver: (who: string) => `Take it over from ${who}`,
  seen: 'I have seen it',
  handOver: 'Hand over',
  pause: 'Pause',
  resume: 'End the pause',
  note: 'Note',
  to: 'To whom',
  handOverHelp: 'They are called at once. Until they take it, it is nobody’s.',
  handOverDo: 'Hand it over',
  untilField: (zone: string) => `Until, on your clock (${zone})`,
  pauseHelp: (days: number) => `A pause always ends, after ${days} days at the latest.`,
  ends: { morning: 'tomorrow 07:00', three: 'in three days', week: 'in a week' },
  why: 'Why',
  pauseDo: 'Pause it until then',
  noteLabel: 'What you found or did',
  noteDo: 'Write it down',
  cancel: 'Not now',
  failed: (why: string) => `That was not recorded. ${why}`,
  done: {
    take: (alert: string) => `It is yours now: ${alert}`,
    'hand-over': (alert: string) => `Handed over: ${alert}`,
    pause: (alert: string) => `Paused: ${alert}`,
    resume: (alert: string) => `The pause has ended: ${alert}`,
    note: (alert: string) => `Written down: ${alert}`,
    seen: (alert: string) => `Seen: ${alert}`,
  },

  link: {
    title: 'An alert',
    lead: (who: string) => `${who}, can you see to this?`,
    others: 'When you take it, nobody else is called.',
    yours: (who: string) => `It is yours, ${who}.`,
    hasIt: (who: string) => `${who} has it already. Nothing is left to do here.`,
    ended: 'It has ended by itself. Nothing is left to do here.',
    next: 'Sign in to write a note, hand it over, or see the site.',
    signIn: 'To Watch',
    over: 'This link is over.',
    overWhy: 'It was used, or is older than a day. Sign in to see what waits for you.',
  },

  health: {
    title: 'How healthy the alerts are',
    sentence: (met: number, judged: number, days: number) =>
      judged === 0
        ? `Nothing can be judged yet from the last ${plural(days, 'day', 'days')}.`
        : `${met} of ${judged} targets were met in the last ${plural(days, 'day', 'days')}.`,
    from: (count: number) => `From ${plural(count, 'alert', 'alerts')}.`,
    period: 'Period',
    days: (days: number) => `${days} days`,
    figure: 'Figure',
    value: 'Value',
    target: 'Target',
    met: 'met',
    missed: 'missed',
    unknown: 'nothing to judge by',
    person: 'Person',
    pushes: 'Pushes per on-call day',
    nights: 'Night wake-ups per week',
    messages: 'Messages',
    byPerson: 'By person',
    topTen: 'What called most',
    rule: 'Rule',
    place: 'Place',
    alerts: 'Alerts',
    share: 'Share, %',
    chatter: 'Came and went',
    times: 'Times',
    stale: 'Open for long',
    openDays: 'Open, days',
    priorities: 'By urgency',
    half: 'Half taken within, min',
    most: 'Nine in ten within, min',
    none: 'None.',
  },
} as const;

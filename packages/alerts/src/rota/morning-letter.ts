import { isAboutFleet, sayMoment, type Alert, type NodeEvent } from '@duskline/domain';

export interface LetterFacts {
  readonly name: string;
  readonly timeZone: string;
  readonly nowMs: number;
  /** "3 of 20 sites need someone this week …" */
  readonly fleetSentence: string;
  /** Open ones of the sites this person looks after. */
  readonly open: readonly { readonly alert: Alert; readonly siteName: string }[];
  /** Of the last day. */
  readonly events: readonly { readonly event: NodeEvent; readonly siteName: string }[];
  /** This person's next duty. */
  readonly duty?: { readonly fromMs: number; readonly untilMs: number };
  readonly gaps: readonly string[];
}

/** The letter somebody reads at seven, in plain words; what is worst comes first. */
export function morningLetter(facts: LetterFacts): {
  readonly subject: string;
  readonly text: string;
} {
  const waiting = facts.open.filter(({ alert }) => alert.state === 'new');
  const taken = facts.open.filter(({ alert }) => alert.state === 'taken');
  const unseen = facts.open.filter(({ alert }) => alert.state === 'ended-unseen');
  const paragraphs = [
    `Good morning, ${facts.name}.`,
    facts.fleetSentence,
    section('Nobody has these yet:', waiting.map(line)),
    section(
      'Taken:',
      taken.map(
        ({ alert, siteName }) =>
          `${place(alert, siteName)}${alert.text.sentence} ${alert.takenBy ?? ''} has it.`,
      ),
    ),
    section(
      'Over, and nobody has looked at it:',
      unseen.map(({ alert, siteName }) => `${place(alert, siteName)}${alert.text.sentence}`),
    ),
    section(
      'For the record:',
      facts.events.map(
        ({ event, siteName }) =>
          `${sayMoment(event.atMs, facts.timeZone)}, ${siteName}: ${event.sentence}`,
      ),
    ),
    duty(facts),
    facts.gaps.length === 0 ? '' : facts.gaps.join('\n'),
    facts.open.length === 0 ? 'Nothing asks for you today.' : '',
  ].filter((text) => text !== '');
  return {
    subject:
      waiting.length === 0
        ? 'The morning: nothing waits for anybody'
        : `The morning: ${waiting.length} ${waiting.length === 1 ? 'thing waits' : 'things wait'} for somebody`,
    text: paragraphs.join('\n\n'),
  };
}

const section = (title: string, lines: readonly string[]): string =>
  lines.length === 0 ? '' : [title, ...lines.map((one) => `– ${one}`)].join('\n');

const place = (alert: Alert, siteName: string): string =>
  isAboutFleet(alert) || alert.text.sentence.startsWith(siteName) ? '' : `${siteName}: `;

const line = ({ alert, siteName }: LetterFacts['open'][number]): string =>
  `${place(alert, siteName)}${alert.text.sentence} ${alert.text.todo} (by ${alert.text.byWhen.replace(/^by /i, '')}; ${alert.priority})`;

function duty({ duty, nowMs, timeZone }: LetterFacts): string {
  if (duty === undefined) return '';
  return duty.fromMs <= nowMs
    ? `You are on call until ${sayMoment(duty.untilMs, timeZone)}.`
    : `You are on call from ${sayMoment(duty.fromMs, timeZone)}.`;
}

/** What whoever comes on call next should know of the last days. */
export function handOverNote(
  facts: Pick<LetterFacts, 'open' | 'events' | 'timeZone'> & {
    readonly ended: readonly { readonly alert: Alert; readonly siteName: string }[];
  },
): string {
  const open = facts.open.map(({ alert, siteName }) => {
    const has =
      alert.state === 'taken'
        ? `${alert.takenBy ?? 'Somebody'} has it`
        : alert.state === 'paused'
          ? `paused until ${sayMoment(alert.paused?.untilMs ?? 0, facts.timeZone)}`
          : alert.handedTo !== undefined
            ? `${alert.handedTo} was asked and has not taken it`
            : 'nobody has it';
    const said = alert.handedSays === undefined ? '' : ` ${alert.handedSays}`;
    return `${place(alert, siteName)}${alert.text.sentence} Since ${sayMoment(alert.openedAtMs, facts.timeZone)}; ${has}.${said}`;
  });
  return [
    section('Still open:', open) || 'Nothing is open.',
    section(
      'Came and went in the last week:',
      facts.ended.map(({ alert, siteName }) => `${place(alert, siteName)}${alert.text.sentence}`),
    ),
    section(
      'Written down:',
      facts.events.map(
        ({ event, siteName }) =>
          `${sayMoment(event.atMs, facts.timeZone)}, ${siteName}: ${event.sentence}`,
      ),
    ),
  ]
    .filter((text) => text !== '')
    .join('\n\n');
}

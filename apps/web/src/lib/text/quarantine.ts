import { plural } from './plural.ts';

export const quarantineText = {
  title: 'Quarantine',
  sentence: (count: number) =>
    count === 0
      ? 'No message waits: every one that came could be read, or was taken in later.'
      : `${plural(count, 'message', 'messages')} could not be accepted, and ${count === 1 ? 'is' : 'are'} kept whole.`,
  nothing:
    'A message that cannot be read lands here whole, with the reason: a wrong time, a reading that is no number, a name no node has. Mend its cause, then take it in from here.',
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
} as const;

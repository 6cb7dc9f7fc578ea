import type { Sample } from '@duskline/domain';
import { cardDoubts, type CardDoubt } from './card-doubts.ts';
import type { CardForm, CardSettings } from './card-form.ts';
import { createCardPass, settledFolds } from './card-pass.ts';
import type { CardTally } from './card-tally.ts';
import { understandCard } from './understand-card.ts';

export const NOW_MS = Date.UTC(2026, 10, 26, 12);

export interface ReadCardText {
  readonly form: CardForm;
  readonly samples: readonly Sample[];
  readonly tally: CardTally;
  readonly doubts: readonly CardDoubt[];
}

/** A whole text as the tests read it: twice, as the server does. */
export function readCardText(
  text: string,
  settings: CardSettings = {},
  siteZone = 'Europe/London',
): ReadCardText {
  const lines = text.split(/\r\n|\n/);
  const form = understandCard(lines, settings, { siteZone });
  const first = createCardPass({ form, settings, nowMs: NOW_MS });
  for (const line of lines) first.take(line);
  const foldsSeen = settledFolds(first.tally);
  const pass = createCardPass({ form, settings, nowMs: NOW_MS, foldsSeen });
  const samples = lines.flatMap((line) => pass.take(line) ?? []);
  const { tally } = pass;
  const doubts = cardDoubts([{ name: 'log.csv', form, tally }], settings);
  return { form, samples, tally, doubts };
}

/** `2026-11-25T07:00:00.000Z batt_v=12.84 charge=64`, to be compared at a glance. */
export const said = ({ observedAtMs, metrics, values, timeQuality }: Sample): string =>
  [
    new Date(observedAtMs).toISOString(),
    ...metrics.map((metric, index) => `${metric}=${values[index]}`),
    ...(timeQuality === 'synced' ? [] : [timeQuality]),
  ].join(' ');

import type { Alert } from './alert.ts';
import type { AlertId } from './ids.ts';

/** One physical cause as it stands in a list: the alert that speaks for it, and what joined it. */
export interface CauseOfAlerts {
  readonly alert: Alert;
  /** Of the same cause, the oldest first; nobody was called for them. */
  readonly joined: readonly Alert[];
}

/**
 * Alerts by their cause: one physical cause is one entry, however many rules see it. The first alert of a cause speaks for
 * it; once that is over, the oldest that still holds. A danger to people (P1) stands by itself beside anything that can wait.
 *
 * @param alerts  of any nodes; the entries come in the order in which their causes are met
 */
export function byCause(alerts: readonly Alert[]): readonly CauseOfAlerts[] {
  const causes = new Map<string, Alert[]>();
  for (const alert of alerts) {
    const root = causeOf(alert);
    causes.set(root, [...(causes.get(root) ?? []), alert]);
  }
  return [...causes].flatMap(([root, members]) => entriesOf(root as AlertId, members));
}

/** The alert whose opening began the cause this one belongs to. */
export const causeOf = ({ id, joins }: Pick<Alert, 'id' | 'joins'>): AlertId => joins ?? id;

function entriesOf(root: AlertId, members: readonly Alert[]): readonly CauseOfAlerts[] {
  const ordered = [...members].sort(
    (a, b) =>
      Number(isOver(a)) - Number(isOver(b)) ||
      Number(b.id === root) - Number(a.id === root) ||
      a.openedAtMs - b.openedAtMs,
  );
  const [head, ...others] = ordered;
  if (head === undefined) return [];
  const isApart = (alert: Alert) =>
    alert.priority === 'P1' && head.priority !== 'P1' && !isOver(alert);
  return [
    { alert: head, joined: others.filter((one) => !isApart(one)).sort(byOpening) },
    ...others.filter(isApart).map((alert) => ({ alert, joined: [] })),
  ];
}

const isOver = ({ endedAtMs }: Alert): boolean => endedAtMs !== undefined;
const byOpening = (a: Alert, b: Alert): number => a.openedAtMs - b.openedAtMs;

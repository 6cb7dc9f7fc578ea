import type { AlertJson, JoinedAlertJson } from '@duskline/contract';
import { byCause, type Alert } from '@duskline/domain';
import { instant, instantOrNull } from './instant.ts';

/** @param joined  what other rules see of the same cause, the oldest first */
export function alertJson(
  alert: Alert,
  siteName: string,
  joined: readonly Alert[] = [],
): AlertJson {
  const { text } = alert;
  return {
    id: alert.id,
    siteId: alert.siteId,
    siteName,
    rule: alert.rule,
    priority: alert.priority,
    state: alert.state,
    openedAt: instant(alert.openedAtMs),
    takenAt: instantOrNull(alert.takenAtMs),
    takenBy: alert.takenBy ?? null,
    endedAt: instantOrNull(alert.endedAtMs),
    paused: pausedJson(alert.paused),
    handed:
      alert.handedTo === undefined
        ? null
        : { to: alert.handedTo, says: alert.handedSays ?? `Handed to ${alert.handedTo}.` },
    sentence: text.sentence,
    figures: text.figures,
    byWhen: text.byWhen,
    todo: text.todo,
    bring: text.bring,
    cautions: [...new Set([alert, ...joined].flatMap((one) => one.text.cautions))],
    also: joined.map(joinedJson),
  };
}

/** Alerts as a list shows them: one for each cause. */
export function alertsJson(
  alerts: readonly Alert[],
  siteNameOf: (alert: Alert) => string,
): AlertJson[] {
  return byCause(alerts).map(({ alert, joined }) => alertJson(alert, siteNameOf(alert), joined));
}

/** One alert with what joined it, found among those of its node. */
export function alertInItsCause(
  alert: Alert,
  siteName: string,
  ofItsNode: readonly Alert[],
): AlertJson {
  const others = ofItsNode.filter(({ id }) => id !== alert.id);
  const entry = byCause([alert, ...others]).find((one) => one.alert.id === alert.id);
  return alertJson(alert, siteName, entry?.joined);
}

/** Who paused an alert, until when and why; null: nobody did. */
export const pausedJson = (paused: Alert['paused']): AlertJson['paused'] =>
  paused === undefined ? null : { by: paused.by, until: instant(paused.untilMs), why: paused.why };

function joinedJson({ id, rule, priority, state, text }: Alert): JoinedAlertJson {
  const { sentence, figures, byWhen, todo, bring } = text;
  return { id, rule, priority, state, sentence, figures, byWhen, todo, bring };
}

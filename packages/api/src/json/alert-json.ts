import type { AlertJson } from '@duskline/contract';
import type { Alert } from '@duskline/domain';
import { instant, instantOrNull } from './instant.ts';

export function alertJson(alert: Alert, siteName: string): AlertJson {
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
    sentence: text.sentence,
    figures: text.figures,
    byWhen: text.byWhen,
    todo: text.todo,
    bring: text.bring,
    cautions: [...text.cautions],
  };
}

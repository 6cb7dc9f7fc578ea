import type { AlertJson } from '@duskline/contract';
import { sayMoment } from '@duskline/domain';
import { instantMs } from '../format/time.ts';
import { text } from '../text/en.ts';

/** Who has an alert, in the few words a row has room for. */
export function whoHas(alert: AlertJson, timeZone: string): string {
  if (alert.state === 'ended-unseen') return text.fleet.endedUnseen;
  if (alert.paused !== null)
    return text.fleet.pausedUntil(sayMoment(instantMs(alert.paused.until), timeZone));
  if (alert.takenBy !== null) return text.fleet.has(alert.takenBy);
  return alert.handed === null ? text.fleet.nobody : text.fleet.handed(alert.handed.to);
}

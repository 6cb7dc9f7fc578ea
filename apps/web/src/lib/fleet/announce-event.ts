import { nodeStateWord } from '@duskline/domain';
import { text } from '../text/en.ts';
import type { FleetRows, LiveEvent } from './apply-live-event.ts';

/** What of an event is worth reading out: a new alert, or a site in another state; undefined for all else. */
export function announceEvent(rows: FleetRows, event: LiveEvent): string | undefined {
  if (event.kind === 'alert') {
    const known = rows.get(event.alert.siteId)?.site.alerts ?? [];
    const isNew = event.alert.state === 'new' && known.every(({ id }) => id !== event.alert.id);
    return isNew ? text.fleet.newAlert(event.alert.sentence) : undefined;
  }
  const { site } = event.row;
  const before = rows.get(site.id)?.site.state;
  if (before === undefined || before === site.state) return undefined;
  return text.fleet.changed(site.name, nodeStateWord[site.state]);
}

import type { Alert, NodeEvent } from '@duskline/domain';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function eventsTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'events',
    title: 'Events',
    description:
      'The logbook: boots, visits, settings, parts changed, snow inferred, notes; and the alerts, with their ends.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('at', 'datetime', 'When, or since when'),
      field('until', 'datetime', 'Of alerts: when it ended'),
      field('kind', 'string', 'Kind of event; “alert” for alerts', { text: true }),
      field('text', 'string', 'What, in a sentence', { text: true }),
      field('by', 'string', 'Who; empty: the node or the program', { text: true }),
    ],
    foreignKeys: [toSite],
    rows,
  };
}

export function eventRows(
  events: readonly NodeEvent[],
  alerts: readonly Alert[],
): readonly (readonly Cell[])[] {
  const rows: { readonly atMs: number; readonly cells: readonly Cell[] }[] = [
    ...events.map((event) => ({
      atMs: event.atMs,
      cells: [event.siteId, instantText(event.atMs), null, event.kind, event.sentence, event.by],
    })),
    ...alerts.map((alert) => ({
      atMs: alert.openedAtMs,
      cells: [
        alert.siteId,
        instantText(alert.openedAtMs),
        alert.endedAtMs === undefined ? null : instantText(alert.endedAtMs),
        'alert',
        alert.text.sentence,
        alert.takenBy,
      ],
    })),
  ];
  return rows.sort((a, b) => a.atMs - b.atMs).map(({ cells }) => cells);
}

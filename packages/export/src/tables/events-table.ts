import {
  nodeStateWord,
  type Alert,
  type NodeEvent,
  type NodeInterval,
  type NodeState,
  type SiteId,
} from '@duskline/domain';
import { instantText } from '../utc-text.ts';
import { field, toSite, type Cell, type Table } from './table.ts';

export function eventsTable(rows: readonly (readonly Cell[])[]): Table {
  return {
    name: 'events',
    title: 'Events',
    description:
      'The logbook: boots, visits, settings, parts changed, snow inferred, notes; the alerts, with their ends; and every time a node went dark, fell silent or was off for work, until it came back.',
    fields: [
      field('site_id', 'string', 'Site', { text: true }),
      field('at', 'datetime', 'When, or since when'),
      field('until', 'datetime', 'Of alerts and states: when it ended; empty: it lasts'),
      field('kind', 'string', 'Kind of event; “alert” for alerts, “state” for states of the node', {
        text: true,
      }),
      field('text', 'string', 'What, in a sentence', { text: true }),
      field('by', 'string', 'Who; empty: the node or the program', { text: true }),
    ],
    foreignKeys: [toSite],
    rows,
  };
}

/** @param states  of the site's node; ends after `madeAtMs` are not known yet */
export function eventRows(
  {
    events,
    alerts,
    states,
    siteId,
  }: {
    readonly siteId: SiteId;
    readonly events: readonly NodeEvent[];
    readonly alerts: readonly Alert[];
    readonly states: readonly NodeInterval[];
  },
  { fromMs, madeAtMs }: { readonly fromMs: number; readonly madeAtMs: number },
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
    ...states
      .filter((one) => AWAY.includes(one.state) && (one.toMs ?? madeAtMs) > fromMs)
      .map(({ state, fromMs: atMs, toMs, cause }) => ({
        atMs,
        cells: [
          siteId,
          instantText(atMs),
          toMs === undefined || toMs >= madeAtMs ? null : instantText(toMs),
          'state',
          `${nodeStateWord[state]}: ${cause}`,
          null,
        ],
      })),
  ];
  return rows.sort((a, b) => a.atMs - b.atMs).map(({ cells }) => cells);
}

/** States in which nothing is heard. */
const AWAY: readonly NodeState[] = [
  'dark-as-designed',
  'overdue',
  'silent-unexplained',
  'link-down',
  'off-for-work',
];

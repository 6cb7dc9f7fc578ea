import type { NodeId, SiteId } from './ids.ts';

/** What is recorded though nobody must act on it. */
export const eventKinds = [
  'dark-as-designed',
  'first-light',
  'snow-probable',
  'charge-blocked',
  'boot',
  'settings',
  'visit',
  'part',
  'note',
] as const;
export type EventKind = (typeof eventKinds)[number];

/** One line of a site's logbook. */
export interface NodeEvent {
  readonly siteId: SiteId;
  readonly nodeId?: NodeId;
  readonly atMs: number;
  readonly kind: EventKind;
  /** One sentence with figures. */
  readonly sentence: string;
  /** Name of the person; undefined: the rules or the node said it. */
  readonly by?: string;
}

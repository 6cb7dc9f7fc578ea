import type { Alert, Diagnosis, NodeEvent, NodeId, SiteId } from '@duskline/domain';

/** What a site's page tells beside figures. */
export interface StoryPort {
  diagnoses(nodeId: NodeId): Promise<{ readonly silence?: Diagnosis; readonly power?: Diagnosis }>;
  /** Of [fromMs, toMs), the latest first. */
  events(
    siteId: SiteId,
    range: { readonly fromMs: number; readonly toMs: number; readonly limit: number },
  ): Promise<readonly NodeEvent[]>;
  /** Of one site, open at some moment of [fromMs, toMs), oldest first. */
  alerts(siteId: SiteId, fromMs: number, toMs: number): Promise<readonly Alert[]>;
  addEvent(event: NodeEvent): Promise<void>;
}

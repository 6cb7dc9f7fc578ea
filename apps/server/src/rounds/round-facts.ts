import type { SiteNeedFacts } from '@duskline/alerts';
import type { Diagnosis, SiteId, SiteView } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { overdueClock, type OverdueClock } from '../overdue-clock.ts';

/** What is known of a site when somebody may have to go there. */
export interface SiteInNeed {
  readonly view: SiteView;
  readonly facts: SiteNeedFacts;
}

/** Of every site, or of one; retired nodes included. */
export async function siteFacts(
  store: Store,
  nowMs: number,
  siteId?: SiteId,
): Promise<readonly SiteInNeed[]> {
  const [views, gaps] = await Promise.all([
    siteId === undefined
      ? store.views.fleet()
      : store.views.site(siteId).then((view) => (view === undefined ? [] : [view])),
    store.acceptedGaps.list(nowMs, siteId),
  ]);
  return Promise.all(
    views.map(async (view) => {
      // Causes are asked for only where there may be something to mend: a fleet of thousands is mostly calm.
      const isCalm =
        view.alerts.length === 0 && (view.verdict === undefined || view.verdict.state === 'up');
      const { silence, power }: { silence?: Diagnosis; power?: Diagnosis } =
        view.node === undefined || (isCalm && siteId === undefined)
          ? {}
          : await store.diagnoses.of(view.node.id);
      const isDark =
        view.verdict?.state === 'dark-as-designed' || view.verdict?.state === 'overdue';
      const { toldOverdueAtMs }: OverdueClock =
        view.node === undefined || !isDark
          ? {}
          : await overdueClock(
              store,
              {
                site: view.site,
                node: view.node,
                settings: await store.ruleSettings.of(view.node),
              },
              await store.nodes.facts(view.node.id),
            );
      const gap = gaps.find((one) => one.siteId === view.site.id && one.fromMs <= nowMs);
      return {
        view,
        facts: {
          nowMs,
          site: view.site,
          alerts: view.alerts,
          ...(view.node === undefined ? {} : { node: view.node }),
          ...(view.verdict === undefined ? {} : { verdict: view.verdict }),
          ...(view.outlook === undefined ? {} : { outlook: view.outlook }),
          ...(silence === undefined ? {} : { silence }),
          ...(power === undefined ? {} : { power }),
          ...(toldOverdueAtMs === undefined ? {} : { toldOverdueAtMs }),
          ...(gap === undefined ? {} : { acceptedUntilMs: gap.untilMs }),
        },
      };
    }),
  );
}

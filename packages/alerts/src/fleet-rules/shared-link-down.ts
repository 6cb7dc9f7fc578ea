import { MINUTE_MS, HOUR_MS } from '@duskline/domain';
import { defineFleetRule, type FleetFacts, type FleetNode } from '../fleet-rule.ts';
import { setting } from '../rule.ts';

/** Shared link down: three or more sites of one carrier or gateway fall silent within half an hour. One cause, one alert. */
export const sharedLinkDown = defineFleetRule({
  key: 'shared-link-down',
  name: 'Shared link down',
  why: 'One cause, not many.',
  who: 'coordinator, today',
  settings: {
    sites: setting(3, 'sites', [2, 50], 'sites that must fall silent together'),
    withinMinutes: setting(30, 'min', [5, 240], 'within so long'),
    backSites: setting(2, 'sites', [1, 50], 'sites heard again that end it'),
  },
  onDelay: { ms: 0, runs: 1 },
  offDelay: { ms: 0, runs: 1 },
  evaluate: (facts, values) =>
    [...byLink(facts.nodes)].map(([link, nodes]) => judgeLink(facts, { link, nodes, ...values })),
});

function byLink(nodes: readonly FleetNode[]): Map<string, FleetNode[]> {
  const links = new Map<string, FleetNode[]>();
  for (const node of nodes) {
    if (node.link === undefined || node.state === 'retired' || node.state === 'off-for-work')
      continue;
    links.set(node.link, [...(links.get(node.link) ?? []), node]);
  }
  return links;
}

function judgeLink(
  { nowMs, nodes: all }: FleetFacts,
  {
    link,
    nodes,
    sites,
    withinMinutes,
    backSites,
  }: {
    readonly link: string;
    readonly nodes: readonly FleetNode[];
    readonly sites: number;
    readonly withinMinutes: number;
    readonly backSites: number;
  },
) {
  const silent = nodes
    .filter((node) => isSilentWithoutReason(node, nowMs))
    .sort((a, b) => (a.lastHeardAtMs ?? 0) - (b.lastHeardAtMs ?? 0));
  const together = largestCluster(silent, withinMinutes * MINUTE_MS);
  const heard = nodes.filter((node) => nowMs - (node.lastHeardAtMs ?? 0) < HOUR_MS / 2).length;
  const othersHeard = all.some(
    (node) => node.link !== link && nowMs - (node.lastHeardAtMs ?? 0) < HOUR_MS / 2,
  );
  // With nobody heard at all the fault may as well be ours: another rule's business.
  if (together.length < sites || (!othersHeard && heard === 0))
    return heard >= backSites
      ? ({
          kind: 'clear',
          subject: link,
          why: `${heard} sites of ${link} are heard again.`,
        } as const)
      : ({ kind: 'undecided', subject: link } as const);
  return {
    kind: 'holds',
    subject: link,
    priority: 'P2',
    covers: together.map(({ nodeId }) => nodeId),
    text: {
      sentence: `${link} is down: ${together.length} sites fell silent together.`,
      figures: `${together.map(({ siteName }) => siteName).join(', ')}; ${heard} of ${nodes.length} sites on ${link} are heard.`,
      byWhen: 'today; no need at night',
      todo: 'Look at the carrier’s status, or at the gateway and its power. The nodes keep their logs.',
      bring: 'nothing yet',
      cautions: [],
    },
  } as const;
}

/** The silence a link explains: longer than three usual gaps, and neither dark as designed nor never heard. */
function isSilentWithoutReason(node: FleetNode, nowMs: number): boolean {
  if (node.lastHeardAtMs === undefined) return false;
  if (node.state === 'dark-as-designed' || node.state === 'overdue') return false;
  return nowMs - node.lastHeardAtMs > Math.max(3 * node.usualGapMs, 10 * MINUTE_MS);
}

/** The most nodes whose last words lie within `spanMs`. */
function largestCluster(sorted: readonly FleetNode[], spanMs: number): readonly FleetNode[] {
  let best: readonly FleetNode[] = [];
  for (let from = 0; from < sorted.length; from++) {
    const firstMs = sorted[from]?.lastHeardAtMs ?? 0;
    const inside = sorted
      .slice(from)
      .filter((node) => (node.lastHeardAtMs ?? 0) - firstMs <= spanMs);
    if (inside.length > best.length) best = inside;
  }
  return best;
}

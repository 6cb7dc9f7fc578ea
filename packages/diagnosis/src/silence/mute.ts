import { sayPercent } from '@duskline/domain';
import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Evidence } from '../weigh-causes.ts';

/**
 * What speaks for everything that ends a node at once with charge in its battery, and against darkness and links. A node
 * that broke, one that hangs and one that was carried off are equally mute: it tells none of them from the others, so each
 * that can be meant counts all of it.
 */
export function muteWithCharge(seen: SilenceSeen): readonly Evidence[] {
  const { charge, node, lastWord, others, brightHoursSince } = seen;
  const saidSo = lastWord?.kind === 'farewell';
  const evidence: Evidence[] = [];
  if (!saidSo) evidence.push({ weight: 0.7, says: 'No message said that it was shutting down' });
  if (charge !== undefined && charge.lowRatio > node.power.shutDownRatio + 0.15)
    evidence.push({ weight: 1.5, says: `Its charge was healthy: ${sayPercent(charge.ratio)}` });
  if (others.expected >= 3 && others.heard / others.expected > 0.6)
    evidence.push({
      weight: 0.7,
      says: `${others.heard} of ${others.expected} other nodes are heard`,
    });
  if (!saidSo && brightHoursSince !== undefined && brightHoursSince >= 6)
    evidence.push({
      weight: 1,
      says: `${Math.round(brightHoursSince)} bright hours have passed and it did not come back`,
    });
  return evidence;
}

import {
  accountId,
  DAY_MS,
  HOUR_MS,
  type SiteId,
  type VisitDeed,
  type VisitStep,
} from '@duskline/domain';
import type { Store } from '@duskline/store';
import { randomUUID } from 'node:crypto';
import { keepDemoLandOwners } from './demo-land-owners.ts';

interface DemoVisit {
  readonly siteId: string;
  readonly who: string;
  /** From today; negative: so many days ago. */
  readonly inDays: number;
  readonly why: string;
  readonly round?: 'ahead';
  readonly did?: { readonly deeds: readonly VisitDeed[]; readonly found: string };
}

/** Invented, like the people and the sites. */
const VISITS: readonly DemoVisit[] = [
  {
    siteId: 'tarn-gill',
    who: 'ash@greywater.example',
    inDays: -19,
    why: 'Yield was sliding since the dry spell.',
    did: {
      deeds: ['cleaned-panel', 'changed-card'],
      found: 'Lichen along the lower edge of the panel, a bird’s perch above it.',
    },
  },
  {
    siteId: 'sallow-bridge',
    who: 'moss@greywater.example',
    inDays: -8,
    why: 'The round before winter.',
    did: { deeds: ['looked', 'changed-card'], found: 'Nothing wrong. The path is under water.' },
  },
  {
    siteId: 'long-moss',
    who: 'moss@greywater.example',
    inDays: -4,
    why: 'Growth in front of the panel.',
    did: { deeds: ['cut-growth'], found: 'Two willow shoots, as high as the panel.' },
  },
  {
    siteId: 'rushy-sluice',
    who: 'ash@greywater.example',
    inDays: 1,
    why: 'Nothing comes from the panel: connector or cable.',
    round: 'ahead',
  },
  {
    siteId: 'sallow-bridge',
    who: 'ash@greywater.example',
    inDays: 1,
    why: 'On the way; bring the pump the land-owner left there.',
    round: 'ahead',
  },
];

const SET_OUT_HOUR = 9;

/** Visits of the demo, past and planned. Done once: where there is a visit nothing happens, and sites that are not there are left out. */
export async function planDemoVisits(store: Store, nowMs: number): Promise<void> {
  const span = { fromMs: nowMs - 90 * DAY_MS, toMs: nowMs + 90 * DAY_MS };
  const [known, sites, people] = await Promise.all([
    store.visits.list(span),
    store.sites.list(),
    store.people.list(),
  ]);
  if (known.length > 0) return;
  await keepDemoLandOwners(store);
  const todayMs = Math.floor(nowMs / DAY_MS) * DAY_MS + SET_OUT_HOUR * HOUR_MS;
  const roundId = demoId(0);
  let place = 0;
  for (const [i, visit] of VISITS.entries()) {
    const site = sites.find(({ id }) => id === visit.siteId);
    const person = people.find(({ email }) => email === visit.who);
    if (site === undefined || person === undefined) continue;
    const plannedAtMs = todayMs + visit.inDays * DAY_MS;
    const id = demoId(i + 1);
    if (visit.round !== undefined) place += 1;
    await store.visits.plan([
      {
        id,
        siteId: visit.siteId as SiteId,
        plannedAtMs,
        personId: accountId(person.id),
        why: visit.why,
        plannedBy: 'Wren Halloway',
        madeAtMs: Math.min(nowMs, plannedAtMs - DAY_MS),
        ...(visit.round === undefined ? {} : { round: { id: roundId, place } }),
      },
    ]);
    if (visit.did !== undefined)
      await store.visits.step(id, stepsOf(visit.did, plannedAtMs), { by: person.name, nowMs });
  }
}

/** The same at every start of a demo, so that its pages have addresses that can be written down. */
const demoId = (n: number): string => `d0000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

function stepsOf(did: NonNullable<DemoVisit['did']>, atMs: number): readonly VisitStep[] {
  return [
    {
      id: randomUUID(),
      atMs,
      kind: 'set-out',
      backByMs: atMs + 5 * HOUR_MS,
      companions: 'Wren Halloway',
      cautions: ['no-risk-assessment', 'lone-work', 'electricity', 'height', 'site', 'threat'],
    },
    { id: randomUUID(), atMs: atMs + 3.5 * HOUR_MS, kind: 'back', ...did },
  ];
}

import { alertId, type Alert } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { likely, node, outlook, site, startMs, verdict } from '../testing.ts';
import { planFieldWork } from './plan-field-work.ts';
import { siteNeed } from './site-need.ts';
import { visitPurpose } from './visit-purpose.ts';

const text = {
  sentence: 'Thornhow will likely stop on Fri.',
  figures: '',
  byWhen: 'today',
  todo: 'Log less often; else visit: clean the panel.',
  bring: 'charged 100 Wh battery, meter',
  cautions: [],
};
const alert = (
  over: Partial<Omit<Alert, 'text'>> = {},
  words: Partial<Alert['text']> = {},
): Alert => ({
  id: alertId('1'),
  nodeId: node.id,
  siteId: site.id,
  rule: 'charge-low',
  priority: 'P2',
  state: 'new',
  openedAtMs: startMs,
  text: { ...text, ...words },
  ...over,
});
function purpose(
  alerts: readonly Alert[],
  over: { power?: ReturnType<typeof likely> } = {},
): string {
  const facts = { nowMs: startMs, site, node, alerts, ...over };
  const work = planFieldWork({
    power: node.power,
    rules: alerts.map(({ rule }) => rule),
    ...(over.power === undefined ? {} : { charging: over.power }),
  });
  return visitPurpose(facts, siteNeed(facts), work);
}

// Expected: what the alert says, written out by hand.
describe('what a visit is for', () => {
  it('is what is wrong, what to do and what to bring, as the alert says it', () => {
    expect(purpose([alert()])).toBe(
      'Thornhow will likely stop on Fri. Log less often; else visit: clean the panel. Bring: charged 100 Wh battery, meter.',
    );
  });

  it('names the likely cause where the alert does not, and only once', () => {
    const power = likely('connector', 0.82);
    const name = power.causes[0]?.name ?? '';
    expect(name).not.toBe('');
    expect(purpose([alert()], { power })).toContain(`Most likely ${name} (82 %). Log less often`);
    const said = purpose([alert({}, { todo: `Visit: most likely ${name} (82 %).` })], { power });
    expect(said.split(name)).toHaveLength(2);
  });

  it('is of the most pressing alert that somebody has to act on', () => {
    const calm = alert({ priority: 'P3' }, { sentence: 'Yield falls.' });
    const over = alert({ priority: 'P1', state: 'ended-unseen' }, { sentence: 'It is over.' });
    expect(purpose([calm, over, alert()])).toMatch(/^Thornhow will likely stop/);
  });

  it('never says half a sentence, nor more than a reason may be long', () => {
    const said = purpose([alert({}, { todo: 'x'.repeat(280) })]);
    expect(said).toBe('Thornhow will likely stop on Fri. Bring: charged 100 Wh battery, meter.');
    expect(said.length).toBeLessThanOrEqual(300);
  });

  it('is the forecast, with the name of the site, where no alert is open', () => {
    const facts = {
      nowMs: startMs,
      site,
      node,
      verdict: verdict('up'),
      outlook: { ...outlook(0.4), issuedAtMs: startMs },
      alerts: [],
    };
    const said = visitPurpose(facts, siteNeed(facts), planFieldWork({ rules: [] }));
    expect(said).toMatch(/^Thornhow: 10 % chance that it has stopped by /);
  });

  it('is nothing where nobody is asked for', () => {
    expect(purpose([])).toBe('');
  });
});

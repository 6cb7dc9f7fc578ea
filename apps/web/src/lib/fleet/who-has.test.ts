import { describe, expect, it } from 'vitest';
import { alertFixture, siteFixture } from './fixtures.ts';
import { alertsToShow } from './summarise-site.ts';
import { whoHas } from './who-has.ts';

const zone = 'Europe/London';
const pause = { by: 'Ines Tarn', until: '2026-12-01T07:00:00Z', why: 'Frost until then.' };

describe('who has an alert, as a row says it', () => {
  it('is nobody, somebody, or whoever was asked and has not taken it', () => {
    expect(whoHas(alertFixture(), zone)).toBe('nobody has this yet');
    expect(whoHas(alertFixture({ state: 'taken', takenBy: 'Ines Tarn' }), zone)).toBe(
      'Ines Tarn has this',
    );
    const handed = { to: 'Wren Halloway', says: 'Handed to Wren Halloway by Ines Tarn.' };
    expect(whoHas(alertFixture({ handed }), zone)).toBe('handed to Wren Halloway');
  });

  it('is a pause with its end, also where somebody had taken it before', () => {
    const paused = alertFixture({ state: 'paused', takenBy: 'Ines Tarn', paused: pause });
    expect(whoHas(paused, zone)).toBe('paused until Tue 1 Dec 07:00 UTC');
  });

  it('shows a paused alert after those to act on', () => {
    const paused = alertFixture({ id: 'p', state: 'paused', paused: pause });
    const ended = alertFixture({ id: 'e', state: 'ended-unseen' });
    const site = siteFixture({ alerts: [ended, paused, alertFixture({ id: 'n' })] });
    expect(alertsToShow(site).map(({ id }) => id)).toEqual(['n', 'p', 'e']);
  });
});

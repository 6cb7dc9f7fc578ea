import { alertId, type Alert } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { rushyAlert } from '../../testing/example-fleet.ts';
import { alertInItsCause, alertsJson } from './alert-json.ts';

const low: Alert = {
  ...rushyAlert,
  id: alertId('42'),
  rule: 'charge-low',
  joins: rushyAlert.id,
  text: { ...rushyAlert.text, sentence: 'Rushy Sluice is nearly empty.', cautions: ['Lithium.'] },
};
const other: Alert = { ...rushyAlert, id: alertId('43'), rule: 'clock-wrong' };

describe('alerts as a list shows them', () => {
  it('are one for a cause, which says what else is seen of it and all its cautions', () => {
    const [first, second, ...more] = alertsJson([low, rushyAlert, other], () => 'Rushy Sluice');
    expect(first).toMatchObject({
      id: '41',
      also: [{ id: '42', rule: 'charge-low', sentence: 'Rushy Sluice is nearly empty.' }],
      cautions: ['A panel in daylight is live: cover it first.', 'Lithium.'],
    });
    expect(second).toMatchObject({ id: '43', also: [] });
    expect(more).toEqual([]);
  });

  it('say who was asked and has not taken it, and until when nobody is called', () => {
    const handedSays = 'Handed to Wren Halloway by Ines Tarn: The gate code is new.';
    const [handed] = alertsJson(
      [{ ...rushyAlert, handedTo: 'Wren Halloway', handedSays }],
      () => 'Rushy Sluice',
    );
    expect(handed).toMatchObject({
      handed: { to: 'Wren Halloway', says: handedSays },
      paused: null,
    });
    const untilMs = Date.parse('2026-12-01T07:00:00Z');
    const [paused] = alertsJson(
      [{ ...rushyAlert, state: 'paused', paused: { by: 'Ines Tarn', untilMs, why: 'Frost.' } }],
      () => 'Rushy Sluice',
    );
    expect(paused).toMatchObject({
      handed: null,
      paused: { by: 'Ines Tarn', until: '2026-12-01T07:00:00.000Z', why: 'Frost.' },
    });
  });

  it('say the same of one alert that was asked for or stepped on', () => {
    const taken: Alert = { ...rushyAlert, state: 'taken', takenBy: 'Ines Tarn' };
    expect(alertInItsCause(taken, 'Rushy Sluice', [rushyAlert, low, other])).toMatchObject({
      id: '41',
      state: 'taken',
      also: [{ id: '42' }],
    });
    expect(alertInItsCause(low, 'Rushy Sluice', [rushyAlert, low])).toMatchObject({
      id: '42',
      also: [],
    });
  });
});

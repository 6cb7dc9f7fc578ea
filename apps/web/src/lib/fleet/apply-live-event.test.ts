import { describe, expect, it } from 'vitest';
import {
  applyLiveEvents,
  refreshRows,
  rowsById,
  type FleetRows,
  type LiveEvent,
} from './apply-live-event.ts';
import { alertFixture, rowFixture } from './fixtures.ts';

const applyLiveEvent = (rows: FleetRows, event: LiveEvent): FleetRows =>
  applyLiveEvents(rows, [event]);
const rows = rowsById([rowFixture({ version: 5 }), rowFixture({ id: 'marl-beck', version: 2 })]);

describe('a live event', () => {
  it('replaces a row by a newer one and leaves the others alone', () => {
    const after = applyLiveEvent(rows, {
      kind: 'site',
      row: rowFixture({ version: 6, chargeRatio: 0.5 }),
    });
    expect(after.get('high-cairn')?.site.chargeRatio).toBe(0.5);
    expect(after.get('marl-beck')).toBe(rows.get('marl-beck'));
    expect(rows.get('high-cairn')?.site.chargeRatio).toBe(0.9);
  });

  it('ignores a row that is not newer, however late it comes', () => {
    for (const version of [4, 5]) {
      expect(applyLiveEvent(rows, { kind: 'site', row: rowFixture({ version }) })).toBe(rows);
    }
  });

  it('adds a site nobody had yet', () => {
    const after = applyLiveEvent(rows, { kind: 'site', row: rowFixture({ id: 'fell-foot' }) });
    expect([...after.keys()]).toEqual(['high-cairn', 'marl-beck', 'fell-foot']);
  });

  it('brings an alert in, changes it, and takes it away when it has ended and been seen', () => {
    const opened = applyLiveEvent(rows, { kind: 'alert', alert: alertFixture() });
    expect(opened.get('high-cairn')?.site.alerts).toHaveLength(1);
    const taken = applyLiveEvent(opened, {
      kind: 'alert',
      alert: alertFixture({ state: 'taken', takenBy: 'Hanna' }),
    });
    expect(taken.get('high-cairn')?.site.alerts.map((alert) => alert.takenBy)).toEqual(['Hanna']);
    const ended = applyLiveEvent(taken, { kind: 'alert', alert: alertFixture({ state: 'ended' }) });
    expect(ended.get('high-cairn')?.site.alerts).toEqual([]);
  });

  it('ignores an alert of a site that is not held', () => {
    const stray = alertFixture({ siteId: 'nowhere' });
    expect(applyLiveEvent(rows, { kind: 'alert', alert: stray })).toBe(rows);
  });
});

describe('several events at once', () => {
  it('are taken in the order they came, each on what the one before left', () => {
    const after = applyLiveEvents(rows, [
      { kind: 'site', row: rowFixture({ version: 6, chargeRatio: 0.5 }) },
      { kind: 'alert', alert: alertFixture() },
      { kind: 'site', row: rowFixture({ version: 6, chargeRatio: 0.1 }) },
      { kind: 'site', row: rowFixture({ id: 'fell-foot' }) },
    ]);
    expect(after.get('high-cairn')?.site.chargeRatio).toBe(0.5);
    expect(after.get('high-cairn')?.site.alerts).toHaveLength(1);
    expect(after.size).toBe(3);
    expect(rows.size).toBe(2);
  });
});

describe('rows asked for again', () => {
  it('keep the newer of each site and drop what is gone', () => {
    const live = applyLiveEvent(rows, { kind: 'site', row: rowFixture({ version: 9 }) });
    const after = refreshRows(live, [rowFixture({ version: 7 })]);
    expect([...after.keys()]).toEqual(['high-cairn']);
    expect(after.get('high-cairn')?.site.version).toBe(9);
  });

  it('win at equal versions, since they know every alert', () => {
    const asked = rowFixture({ version: 5, alerts: [alertFixture()] });
    expect(refreshRows(rows, [asked]).get('high-cairn')).toBe(asked);
  });
});

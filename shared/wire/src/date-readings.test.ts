import { describe, expect, it } from 'vitest';
import { dateMoment, type Moment, type Receipt } from './date-readings.ts';

const NOW_MS = Date.UTC(2026, 10, 25, 12);
const NOW_S = NOW_MS / 1000;
const CLOCK_NONE = 0;
const CLOCK_NETWORK = 1;
/** Sent now, 4,000 s after the boot. */
const receipt: Receipt = {
  receivedAtMs: NOW_MS,
  kind: 'backlog',
  anchor: { uptimeS: 4000, timeS: 0 },
};
const moment = (over: Partial<Moment>): Moment => ({
  timeS: NOW_S,
  uptimeS: 400,
  record: 0,
  metric: 'batt_v',
  ...over,
});
const date = (over: Partial<Moment>, at: Partial<Receipt> = {}) => {
  const dated = dateMoment(moment(over), { ...receipt, ...at });
  if (!dated.ok) throw new Error(dated.fault.reason);
  return dated.value;
};

describe('the date of a moment', () => {
  it('keeps what the node said beside what it was put right to, and only then', () => {
    const wrongS = Date.UTC(2000, 0, 1) / 1000;
    expect(date({ timeS: wrongS })).toEqual({
      observedAtMs: NOW_MS - 3_600_000,
      timeQuality: 're-dated',
      saidTimeS: wrongS,
    });
    expect(date({ timeS: NOW_S - 60 })).not.toHaveProperty('saidTimeS');
    expect(date({ timeS: -60 })).not.toHaveProperty('saidTimeS');
  });

  it('is put right by the uptime of sending also where it looks likely, but was never set and says so', () => {
    const behind = { timeS: NOW_S - 86_400, clockSource: CLOCK_NONE };
    expect(date(behind)).toEqual({
      observedAtMs: NOW_MS - 3_600_000,
      timeQuality: 're-dated',
      saidTimeS: NOW_S - 86_400,
    });
    expect(date({ ...behind, clockSource: CLOCK_NETWORK })).toEqual({
      observedAtMs: NOW_MS - 86_400_000,
      timeQuality: 'synced',
    });
  });

  it('of a clock that was never set is unsure where no uptime of sending is there', () => {
    const behind = { timeS: NOW_S - 86_400, clockSource: CLOCK_NONE };
    const unsure = { observedAtMs: NOW_MS - 86_400_000, timeQuality: 'unsure' };
    expect(date(behind, { anchor: undefined })).toEqual(unsure);
    // As old as the reading itself, perhaps.
    expect(date(behind, { anchor: { uptimeS: 400, timeS: NOW_S - 86_400 } })).toEqual(unsure);
  });
});

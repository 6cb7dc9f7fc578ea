import type { FieldSheetJson } from '@duskline/contract';
import { describe, expect, it } from 'vitest';
import { dropPlan, keepPlan, keptPlan, pageOfPlan, type LocalPlan } from './local-plan.ts';

function memory() {
  const kept = new Map<string, string>();
  return {
    kept,
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, value: string) => void kept.set(key, value),
    removeItem: (key: string) => void kept.delete(key),
  };
}
const plan: LocalPlan = {
  visit: { id: 'v1', siteId: 'tarn-gill', at: '2026-11-26T09:00:00.000Z', why: 'Begun there.' },
  sheet: { siteName: 'Tarn Gill', timeZone: 'Europe/London' } as FieldSheetJson,
  person: 'Ash Fell',
};

describe('a visit begun without coverage', () => {
  it('stays on this device, for its owner, until the server has it', () => {
    const store = memory();
    keepPlan(store, 'ash@greywater.example', plan);
    expect(keptPlan(store, 'ash@greywater.example', 'v1')).toEqual(plan);
    expect(keptPlan(store, 'moss@greywater.example', 'v1')).toBeUndefined();
    expect(keptPlan(store, 'ash@greywater.example', 'v2')).toBeUndefined();
    dropPlan(store, 'ash@greywater.example', 'v1');
    expect(store.kept.size).toBe(0);
  });

  it('is none when it was half written', () => {
    const store = memory();
    keepPlan(store, 'a', plan);
    const [key] = [...store.kept.keys()];
    for (const text of ['{"visit":', 'null', '{}', '{"visit":{"id":"v1"}}']) {
      store.kept.set(key ?? '', text);
      expect(keptPlan(store, 'a', 'v1')).toBeUndefined();
    }
  });

  it('has a page like any other that is planned', () => {
    expect(pageOfPlan(plan)).toMatchObject({
      visit: { siteName: 'Tarn Gill', state: 'planned', person: 'Ash Fell', why: 'Begun there.' },
    });
  });
});

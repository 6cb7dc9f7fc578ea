import { expect, it } from 'vitest';
import { isKept, KEPT_AT_HEADER, keptAtMs } from './kept-answers.ts';

it('keeps what a person in the field reads, and nothing secret or large', () => {
  for (const path of ['/api/v1/session', '/api/v1/fleet', '/api/v1/sites/rushy-sluice'])
    expect([path, isKept(path)]).toEqual([path, true]);
  for (const path of [
    '/api/v1/tokens',
    '/api/v1/exports/17/file',
    '/api/v1/nodes/rushy-1/secret',
    '/api/v1/quarantine',
    '/api/v1/card-imports/3',
    '/healthz',
    '/socket.io/',
  ])
    expect([path, isKept(path)]).toEqual([path, false]);
});

it('tells an answer of this device, with its time, from one of the server', () => {
  expect(keptAtMs(new Headers())).toBeUndefined();
  expect(keptAtMs(new Headers({ [KEPT_AT_HEADER]: '1764140520000' }))).toBe(1_764_140_520_000);
});

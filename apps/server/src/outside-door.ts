import type { OutlookDesk, OutsideFault } from '@duskline/api';
import type { NewOutsideForecastJson, OutsideForecastJson } from '@duskline/contract';
import { failed, HOUR_MS, ok, type Result } from '@duskline/domain';
import type { OutsideForecast } from '@duskline/forecast';
import type { OutsideForecastRecord, Store } from '@duskline/store';
import { parseOutsideFile } from './parse-outside-file.ts';

const SHOWN = 30;
/** Issued by a clock that is ahead of ours, at most this much. */
const SLACK_MS = HOUR_MS;

/** Where weather forecasts from outside come in, and are seen again. */
export function createOutsideDoor(
  store: Store,
  now: () => number,
): Pick<OutlookDesk, 'outside' | 'addOutside'> {
  return {
    async outside(siteId) {
      const [records, newest] = await Promise.all([
        store.outsideForecasts.list(siteId, SHOWN),
        store.outsideForecasts.newest(siteId, now()),
      ]);
      return { forecasts: records.map((record) => outsideJson(record, newest?.id, now())) };
    },
    async addOutside(siteId, body, by) {
      const read = typeof body === 'string' ? parseOutsideFile(body) : fromJson(body);
      if (!read.ok) return read;
      const forecast = read.value;
      if (forecast.issuedAtMs > now() + SLACK_MS) return invalid('/issuedAt', 'lies in the future');
      const record = await store.outsideForecasts.add({
        siteId,
        source: forecast.source,
        issuedAtMs: forecast.issuedAtMs,
        receivedAtMs: now(),
        by: by.name,
        body: forecast,
      });
      if (record === undefined) return failed({ kind: 'in-use' });
      const newest = await store.outsideForecasts.newest(siteId, now());
      return ok(outsideJson(record, newest?.id, now()));
    },
  };
}

const invalid = (pointer: string, detail: string): Result<never, OutsideFault> =>
  failed({ kind: 'invalid', pointer, detail });

function fromJson(body: NewOutsideForecastJson): Result<OutsideForecast, OutsideFault> {
  const issuedAtMs = Date.parse(body.issuedAt);
  const startMs = Date.parse(body.start);
  if (!Number.isFinite(issuedAtMs)) return invalid('/issuedAt', 'cannot be read as a time');
  if (!Number.isFinite(startMs)) return invalid('/start', 'cannot be read as a time');
  const lengths = new Set(
    body.members.flatMap(({ ghiWm2, cloudRatio, airC }) =>
      [ghiWm2, cloudRatio, airC].flatMap((series) => (series === undefined ? [] : [series.length])),
    ),
  );
  if (lengths.size !== 1) return invalid('/members', 'must hold series of one and the same length');
  const bare = body.members.findIndex(
    ({ ghiWm2, cloudRatio }) => ghiWm2 === undefined && cloudRatio === undefined,
  );
  if (bare >= 0) return invalid(`/members/${bare}`, 'says neither irradiance nor cloud');
  return ok({
    source: body.source,
    issuedAtMs,
    startMs,
    stepMs: body.stepHours * HOUR_MS,
    members: body.members,
  });
}

/** A forecast that has run out says nothing of the days ahead. */
function outsideJson(
  record: OutsideForecastRecord,
  newestId: string | undefined,
  nowMs: number,
): OutsideForecastJson {
  const forecast = record.body as OutsideForecast;
  const { startMs, stepMs, members } = forecast;
  const steps = Math.max(
    0,
    ...members.map(({ ghiWm2, cloudRatio }) => (ghiWm2 ?? cloudRatio ?? []).length),
  );
  const endMs = startMs + steps * stepMs;
  const says = (name: 'ghiWm2' | 'cloudRatio' | 'airC') =>
    members.some((member) => member[name]?.some((value) => value !== null) === true);
  return {
    id: record.id,
    source: record.source,
    issuedAt: new Date(record.issuedAtMs).toISOString(),
    receivedAt: new Date(record.receivedAtMs).toISOString(),
    receivedFrom: record.by,
    start: new Date(startMs).toISOString(),
    end: new Date(endMs).toISOString(),
    stepHours: stepMs / HOUR_MS,
    members: members.length,
    says: [
      ...(says('ghiWm2') ? (['irradiance'] as const) : []),
      ...(says('cloudRatio') ? (['cloud'] as const) : []),
      ...(says('airC') ? (['air temperature'] as const) : []),
    ],
    lastUsedAt:
      record.lastUsedAtMs === undefined ? null : new Date(record.lastUsedAtMs).toISOString(),
    inForce: record.id === newestId && endMs > nowMs,
  };
}

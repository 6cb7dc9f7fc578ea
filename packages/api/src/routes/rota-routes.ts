import {
  NewShiftSchema,
  NewSwapSchema,
  RotaSchema,
  ShiftExceptionSchema,
  ShiftSchema,
} from '@duskline/contract';
import { accountId, DAY_MS, type Person, type Shift } from '@duskline/domain';
import Type from 'typebox';
import { principalOf } from '../access/guard-routes.ts';
import type { ApiDeps } from '../api-deps.ts';
import type { Door } from '../door.ts';
import { instant } from '../json/instant.ts';
import { component } from '../openapi/component-schemas.ts';
import { ApiProblem } from '../replies/api-problem.ts';
import type { WatchPorts } from '../watch-port.ts';
import { findPerson, requireZone } from './people-routes.ts';
import { refuseConflict } from './refuse-conflict.ts';
import { writeDown } from './write-down.ts';

const LONGEST_RANGE_MS = 400 * DAY_MS;
const instantSchema = Type.String({ format: 'date-time' });
const RangeSchema = Type.Object({ from: instantSchema, to: instantSchema });
const IdParamsSchema = Type.Object({ id: Type.String({ maxLength: 40, description: 'Its id.' }) });

/** Who is on call when. */
export function rotaRoutes(app: Door, { watch, now }: ApiDeps): void {
  if (watch === undefined) return;
  showRota(app, watch, now);
  changeRota(app, watch, now);
  swapRoutes(app, watch, now);
}

function showRota(app: Door, watch: WatchPorts, now: () => number): void {
  app.get(
    '/api/v1/rota',
    {
      config: { allow: 'read' },
      schema: {
        operationId: 'rota',
        tags: ['people'],
        summary: 'Who is on call when, and when nobody is',
        querystring: RangeSchema,
        response: { 200: component(RotaSchema) },
      },
    },
    async (request) => {
      const fromMs = Date.parse(request.query.from);
      const toMs = Date.parse(request.query.to);
      if (!(toMs > fromMs) || toMs - fromMs > LONGEST_RANGE_MS)
        throw new ApiProblem('range-invalid', 'Ask for a stretch of at most 400 days.');
      const [shifts, groups, people, handOver] = await Promise.all([
        watch.rota.shifts(),
        watch.siteGroups.list(),
        watch.people.list(),
        watch.handOverNote(now()),
      ]);
      const { duties, gaps } = watch.rotaBetween(shifts, groups, { fromMs, toMs });
      const nameOf = (id: string) => people.find((one) => one.id === id)?.name ?? '';
      return {
        shifts: shifts.map((shift) => shiftJson(shift, people)),
        duties: duties.map((duty) => ({
          shiftId: duty.shiftId,
          start: duty.start,
          from: instant(duty.fromMs),
          until: instant(duty.untilMs),
          personId: duty.personId,
          person: nameOf(duty.personId),
          groupId: duty.groupId ?? null,
          insteadOf: duty.insteadOf === undefined ? null : nameOf(duty.insteadOf),
        })),
        gaps: gaps.map((gap) => ({
          from: instant(gap.fromMs),
          until: instant(gap.untilMs),
          groupId: gap.groupId ?? null,
          says: gap.says,
        })),
        handOver,
      };
    },
  );
}

function changeRota(app: Door, watch: WatchPorts, now: () => number): void {
  app.post(
    '/api/v1/shifts',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'addShift',
        tags: ['people'],
        summary: 'Put somebody on the rota, once or by recurrence',
        body: component(NewShiftSchema),
        response: { 201: component(ShiftSchema) },
      },
    },
    async (request, reply) => {
      const { personId, groupId, recurrence = '', start, durationMinutes, timeZone } = request.body;
      const person = await findPerson(watch, personId);
      requireZone(timeZone);
      const shift = {
        personId: person.id,
        ...(groupId === undefined ? {} : { groupId }),
        start,
        durationMinutes,
        timeZone,
        recurrence,
      };
      const fault = watch.faultOfShift(shift);
      if (fault !== undefined) throw new ApiProblem('shift-refused', fault);
      if (
        groupId !== undefined &&
        !(await watch.siteGroups.list()).some((group) => group.id === groupId)
      )
        throw new ApiProblem('site-group-unknown', 'There is no such group of sites.');
      const made = await refuseConflict(
        () => watch.rota.add(shift),
        new ApiProblem('shift-refused', 'Person or group went away meanwhile.'),
      );
      await watch.audit.add({
        atMs: now(),
        kind: 'rota',
        by: principalOf(request).account.name,
        ip: request.ip,
        subject: person.name,
        after: shift,
      });
      reply.code(201);
      return shiftJson(made, [person]);
    },
  );

  app.delete(
    '/api/v1/shifts/:id',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'endShift',
        tags: ['people'],
        summary: 'Take a shift off the rota, with all its recurrences',
        params: IdParamsSchema,
        response: { 204: Type.Null({ description: 'It is off the rota.' }) },
      },
    },
    async (request, reply) => {
      if (!(await watch.rota.end(request.params.id, now()))) throw unknown();
      await watch.audit.add({
        atMs: now(),
        kind: 'rota',
        by: principalOf(request).account.name,
        ip: request.ip,
        subject: `shift ${request.params.id} ended`,
      });
      return reply.code(204).send(null);
    },
  );

  app.post(
    '/api/v1/shifts/:id/exceptions',
    {
      config: { allow: 'arrange-people' },
      schema: {
        operationId: 'exceptShift',
        tags: ['people'],
        summary: 'One occurrence does not take place',
        params: IdParamsSchema,
        body: component(ShiftExceptionSchema),
        response: { 200: component(ShiftSchema) },
      },
    },
    async (request) => {
      const changed = await watch.rota.except(request.params.id, request.body.start);
      if (changed === undefined) throw unknown();
      await writeDown({ watch, now }, request, {
        kind: 'rota',
        subject: `shift ${request.params.id} left out`,
        after: { start: request.body.start },
      });
      return shiftJson(changed, await watch.people.list());
    },
  );
}

function swapRoutes(app: Door, watch: WatchPorts, now: () => number): void {
  app.post(
    '/api/v1/shifts/:id/swaps',
    {
      config: { allow: 'handle-alerts' },
      schema: {
        operationId: 'swapShift',
        tags: ['people'],
        summary: 'Somebody else does one occurrence',
        description:
          'One gives away one’s own, or takes another’s on oneself; whoever arranges people may swap any.',
        params: IdParamsSchema,
        body: component(NewSwapSchema),
        response: { 200: component(ShiftSchema) },
      },
    },
    async (request) => {
      const { account, permissions } = principalOf(request);
      const { start, to } = request.body;
      const shift = (await watch.rota.shifts()).find(({ id }) => id === request.params.id);
      if (shift === undefined) throw unknown();
      const person = await findPerson(watch, to);
      const holder = shift.swaps.find((swap) => swap.start === start)?.to ?? shift.personId;
      const own = holder === account.id || person.id === account.id;
      if (!own && !permissions.includes('arrange-people'))
        throw new ApiProblem(
          'not-allowed',
          'You swap your own shifts, or take one on; ask a coordinator for the others.',
        );
      const changed = await watch.rota.swap(
        shift.id,
        { start, to: accountId(person.id) },
        { name: account.name, atMs: now() },
      );
      if (changed === undefined) throw unknown();
      await writeDown({ watch, now }, request, {
        kind: 'rota',
        subject: `${person.name} does another’s shift`,
        before: { personId: holder },
        after: { start, personId: person.id },
      });
      return shiftJson(changed, await watch.people.list());
    },
  );
}

const shiftJson = (shift: Shift, people: readonly Person[]) => ({
  id: shift.id,
  personId: shift.personId,
  person: people.find(({ id }) => id === shift.personId)?.name ?? '',
  groupId: shift.groupId ?? null,
  start: shift.start,
  durationMinutes: shift.durationMinutes,
  timeZone: shift.timeZone,
  recurrence: shift.recurrence,
  exceptions: [...shift.exceptions],
});

const unknown = (): ApiProblem =>
  new ApiProblem('shift-unknown', 'There is no such shift on the rota.');

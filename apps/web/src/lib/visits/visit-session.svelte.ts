import type { VisitJson, VisitPageJson, VisitStepJson } from '@duskline/contract';
import { SECOND_MS } from '@duskline/domain';
import { ApiProblem } from '../api-problem.ts';
import { lastKnown } from '../offline/last-known.svelte.ts';
import { dropPlan, keptPlan } from './local-plan.ts';
import {
  dropSteps,
  madeNow,
  queuedSteps,
  queueStep,
  withSteps,
  type StepDraft,
} from './step-queue.ts';
import { visitClient } from './visit-client.ts';

const AGAIN_MS = 20 * SECOND_MS;

/**
 * One visit on this device: what is reported is kept here first and shown at once, then sent, as often as it takes. A step is
 * forgotten here only when the server itself has shown that it has it.
 */
export class VisitSession {
  #page = $state.raw<VisitPageJson>() as VisitPageJson;
  #waiting = $state.raw<readonly VisitStepJson[]>([]);
  #refusal = $state('');
  /** The server does not know of it yet. */
  #begunHere = $state(false);
  #sending = false;
  readonly #of: { readonly owner: string; readonly visitId: string };

  constructor(page: VisitPageJson, owner: string) {
    this.#page = page;
    this.#of = { owner, visitId: page.visit.id };
    this.#waiting = queuedSteps(localStorage, owner, page.visit.id);
    this.#begunHere = keptPlan(localStorage, owner, page.visit.id) !== undefined;
  }

  get visit(): VisitJson {
    return withSteps(this.#page.visit, this.#waiting);
  }

  get sheet(): VisitPageJson['sheet'] {
    return this.#page.sheet;
  }

  get waiting(): number {
    return this.#waiting.length + (this.#begunHere ? 1 : 0);
  }

  /** Why the server will not take what waits; empty: it has not refused. */
  get refusal(): string {
    return this.#refusal;
  }

  report(step: StepDraft): void {
    this.#waiting = queueStep(localStorage, this.#of, madeNow(step));
    void this.send();
  }

  /** Sends what waits. Without coverage it stays. */
  async send(): Promise<void> {
    const { owner, visitId } = this.#of;
    const plan = keptPlan(localStorage, owner, visitId);
    if (this.#sending || (this.#waiting.length === 0 && plan === undefined)) return;
    this.#sending = true;
    const steps = this.#waiting.slice(0, 200);
    try {
      // What was begun without coverage is made known first; said again it changes nothing.
      if (plan !== undefined) await visitClient().plan({ ...plan.visit, begun: true });
      if (steps.length > 0) this.#page = await visitClient().report(visitId, steps);
      this.#refusal = '';
      // The answer to a report is not kept for reading without coverage; the answer to a question is. Until the server has
      // given that one, the steps stay here, and sending them again changes nothing.
      const page = await visitClient().visit(visitId);
      if (lastKnown.sinceMs === undefined) {
        this.#page = page;
        dropPlan(localStorage, owner, visitId);
        this.#begunHere = false;
        this.#waiting = dropSteps(
          localStorage,
          this.#of,
          steps.map(({ id }) => id),
        );
      }
    } catch (cause) {
      const refused = cause instanceof ApiProblem && cause.status >= 400 && cause.status < 500;
      this.#refusal = refused && cause.status !== 401 ? cause.message : '';
    } finally {
      this.#sending = false;
    }
  }

  /** Gives up what the server will not take. */
  drop(): void {
    dropPlan(localStorage, this.#of.owner, this.#of.visitId);
    this.#begunHere = false;
    this.#waiting = dropSteps(
      localStorage,
      this.#of,
      this.#waiting.map(({ id }) => id),
    );
    this.#refusal = '';
  }

  /** Keeps trying while the page is open. @returns stops it */
  keepTrying(): () => void {
    const attempt = (): void => void this.send();
    const timer = setInterval(attempt, AGAIN_MS);
    addEventListener('online', attempt);
    attempt();
    return () => {
      clearInterval(timer);
      removeEventListener('online', attempt);
    };
  }
}

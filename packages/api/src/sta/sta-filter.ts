import { badQuery, beyondDoor } from './sta-refusal.ts';

/** A filter read: comparisons and text tests, joined by and, or, not. @source OGC 15-078r6 §9.4.5, tables 9-1 and 9-2 */
export type StaFilter =
  | { readonly kind: 'and' | 'or'; readonly parts: readonly [StaFilter, StaFilter] }
  | { readonly kind: 'not'; readonly part: StaFilter }
  | {
      readonly kind: 'compare';
      readonly operator: StaOperator;
      readonly left: StaOperand;
      readonly right: StaOperand;
    }
  | {
      readonly kind: 'text';
      readonly test: StaTextTest;
      readonly operands: readonly [StaOperand, StaOperand];
    };

export type StaOperand =
  | { readonly kind: 'path'; readonly path: string }
  | { readonly kind: 'literal'; readonly value: string | number | boolean | null }
  | { readonly kind: 'time'; readonly atMs: number };

const operators = ['eq', 'ne', 'gt', 'ge', 'lt', 'le'] as const;
export type StaOperator = (typeof operators)[number];
const textTests = ['startswith', 'endswith', 'substringof'] as const;
type StaTextTest = (typeof textTests)[number];

const LONGEST = 2000;
const TOKEN =
  /\s*(?:(?<text>'(?:[^']|'')*')|(?<time>\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d))|(?<number>-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)|(?<word>[@A-Za-z_][\w.@]*(?:\/[@A-Za-z_][\w.@]*)*)|(?<sign>[(),]))/y;

interface Token {
  readonly kind: 'text' | 'time' | 'number' | 'word' | 'sign';
  readonly text: string;
}

/**
 * Reads a `$filter`.
 *
 * @throws ApiProblem 400 where it cannot be read, 501 where it asks for arithmetic, places or other functions
 */
export function readFilter(source: string): StaFilter {
  if (source.length > LONGEST) throw badQuery('$filter', `is longer than ${LONGEST} characters`);
  const tokens = tokensOf(source);
  let at = 0;
  const peek = (): string | undefined => tokens[at]?.text;
  const next = (): Token => {
    const token = tokens[at];
    if (token === undefined) throw badQuery('$filter', 'ends in the middle');
    at += 1;
    return token;
  };
  const expect = (text: string): void => {
    if (next().text !== text) throw badQuery('$filter', `lacks “${text}”`);
  };
  const joined = (kind: 'and' | 'or', part: () => StaFilter): StaFilter => {
    let left = part();
    while (peek() === kind) {
      at += 1;
      left = { kind, parts: [left, part()] };
    }
    return left;
  };
  const either = (): StaFilter => joined('or', () => joined('and', single));
  const single = (): StaFilter => {
    if (peek() === 'not') {
      at += 1;
      return { kind: 'not', part: single() };
    }
    if (peek() === '(') {
      at += 1;
      const inside = either();
      expect(')');
      return inside;
    }
    if (tokens[at + 1]?.text === '(') return textTest();
    return comparison();
  };
  const textTest = (): StaFilter => {
    const name = next().text;
    const test = textTests.find((one) => one === name);
    if (test === undefined) throw beyondDoor('$filter', `the function ${name} is not offered`);
    expect('(');
    const first = operand();
    expect(',');
    const second = operand();
    expect(')');
    return { kind: 'text', test, operands: [first, second] };
  };
  const comparison = (): StaFilter => {
    const left = operand();
    const word = next().text;
    if (['add', 'sub', 'mul', 'div', 'mod'].includes(word))
      throw beyondDoor('$filter', 'arithmetic is not offered');
    const operator = operators.find((one) => one === word);
    if (operator === undefined)
      throw badQuery('$filter', `has “${word}” where eq, ne, gt, ge, lt or le belongs`);
    return { kind: 'compare', operator, left, right: operand() };
  };
  const operand = (): StaOperand => operandOf(next());

  const filter = either();
  if (at < tokens.length) throw badQuery('$filter', `goes on with “${peek() ?? ''}”`);
  return filter;
}

function tokensOf(source: string): readonly Token[] {
  const tokens: Token[] = [];
  let at = 0;
  const text = source.trimEnd();
  while (at < text.length) {
    TOKEN.lastIndex = at;
    const found = TOKEN.exec(text);
    const named = Object.entries(found?.groups ?? {}).find(([, one]) => one !== undefined);
    if (found === null || named === undefined)
      throw badQuery('$filter', `cannot be read from character ${at + 1}`);
    tokens.push({ kind: named[0] as Token['kind'], text: String(named[1]) });
    at = TOKEN.lastIndex;
  }
  return tokens;
}

function operandOf({ kind, text }: Token): StaOperand {
  switch (kind) {
    case 'text':
      return { kind: 'literal', value: text.slice(1, -1).replaceAll("''", "'") };
    case 'number':
      return { kind: 'literal', value: Number(text) };
    case 'time': {
      const atMs = Date.parse(text);
      if (!Number.isFinite(atMs)) throw badQuery('$filter', `${text} is no time`);
      return { kind: 'time', atMs };
    }
    case 'word':
      if (text === 'true' || text === 'false') return { kind: 'literal', value: text === 'true' };
      return text === 'null' ? { kind: 'literal', value: null } : { kind: 'path', path: text };
    default:
      throw badQuery('$filter', `has “${text}” where a property or a value belongs`);
  }
}

/** What a path leads to from an entity; undefined: nothing. */
export type StaLookUp = (path: string) => Promise<unknown>;

/** Is it so of this entity? What compares with nothing is not so (§9.4.5), except `eq null` and `ne null`. */
export async function passes(filter: StaFilter, lookUp: StaLookUp): Promise<boolean> {
  switch (filter.kind) {
    case 'and':
      return (await passes(filter.parts[0], lookUp)) && (await passes(filter.parts[1], lookUp));
    case 'or':
      return (await passes(filter.parts[0], lookUp)) || (await passes(filter.parts[1], lookUp));
    case 'not':
      return !(await passes(filter.part, lookUp));
    case 'text': {
      const [first, second] = await Promise.all(filter.operands.map((one) => valueOf(one, lookUp)));
      if (typeof first !== 'string' || typeof second !== 'string') return false;
      if (filter.test === 'substringof') return second.includes(first);
      return filter.test === 'startswith' ? first.startsWith(second) : first.endsWith(second);
    }
    case 'compare': {
      const timed = filter.left.kind === 'time' || filter.right.kind === 'time';
      const [left, right] = await Promise.all(
        [filter.left, filter.right].map((one) => valueOf(one, lookUp)),
      );
      return compares(filter.operator, timed ? asTime(left) : left, timed ? asTime(right) : right);
    }
  }
}

async function valueOf(operand: StaOperand, lookUp: StaLookUp): Promise<unknown> {
  switch (operand.kind) {
    case 'literal':
      return operand.value;
    case 'time':
      return operand.atMs;
    case 'path':
      return (await lookUp(operand.path)) ?? null;
  }
}

const asTime = (value: unknown): unknown => (typeof value === 'string' ? Date.parse(value) : value);

function compares(operator: StaOperator, left: unknown, right: unknown): boolean {
  if (operator === 'eq') return left === right;
  if (operator === 'ne') return left !== right;
  const order = orderOf(left, right);
  if (order === undefined) return false;
  switch (operator) {
    case 'gt':
      return order > 0;
    case 'ge':
      return order >= 0;
    case 'lt':
      return order < 0;
    case 'le':
      return order <= 0;
  }
}

/** Below, at or above 0; undefined where the two are not of one kind. */
export function orderOf(left: unknown, right: unknown): number | undefined {
  if (typeof left === 'number' && typeof right === 'number')
    return Number.isNaN(left - right) ? undefined : left - right;
  if (typeof left === 'string' && typeof right === 'string')
    return left < right ? -1 : left > right ? 1 : 0;
  return undefined;
}

/**
 * The stretch [fromMs, toMs) outside which nothing passes, as far as comparisons of `phenomenonTime` that must all hold
 * tell; `exact`: the filter says nothing else.
 */
export function timeBounds(filter: StaFilter | undefined): {
  readonly fromMs: number;
  readonly toMs: number;
  readonly exact: boolean;
} {
  const whole = { fromMs: -Infinity, toMs: Infinity };
  if (filter === undefined) return { ...whole, exact: true };
  if (filter.kind === 'and') {
    const [a, b] = [timeBounds(filter.parts[0]), timeBounds(filter.parts[1])];
    return {
      fromMs: Math.max(a.fromMs, b.fromMs),
      toMs: Math.min(a.toMs, b.toMs),
      exact: a.exact && b.exact,
    };
  }
  if (filter.kind !== 'compare' || filter.left.kind !== 'path' || filter.right.kind !== 'time')
    return { ...whole, exact: false };
  if (filter.left.path !== 'phenomenonTime' && filter.left.path !== 'resultTime')
    return { ...whole, exact: false };
  const { atMs } = filter.right;
  switch (filter.operator) {
    case 'gt':
      return { ...whole, fromMs: atMs + 1, exact: true };
    case 'ge':
      return { ...whole, fromMs: atMs, exact: true };
    case 'lt':
      return { ...whole, toMs: atMs, exact: true };
    case 'le':
      return { ...whole, toMs: atMs + 1, exact: true };
    case 'eq':
      return { fromMs: atMs, toMs: atMs + 1, exact: true };
    case 'ne':
      return { ...whole, exact: false };
  }
}

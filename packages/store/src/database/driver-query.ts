import postgres from 'postgres';

/**
 * The parts of a postgres.js query object that its types leave out (3.4.9, `src/query.js`). The
 * version is pinned; `open-database.db.test.ts` fails if they change.
 */
export interface DriverQuery extends Promise<unknown> {
  /** Sends the query to a connection; called once, when somebody first waits for it. */
  handler: (query: DriverQuery) => void;
  resolve: (result: unknown) => void;
  reject: (error: unknown) => void;
  readonly cancelled: unknown;
  /** Set for a query read in chunks. */
  readonly cursorFn?: unknown;
  /** Set for COPY. */
  readonly streaming?: boolean;
}

/** The function by which a client sends queries over its own connections. */
export function handlerOf(client: postgres.Sql): DriverQuery['handler'] {
  // Making a query sends nothing.
  return asDriverQuery(client.unsafe('')).handler;
}

export function asDriverQuery(query: object): DriverQuery {
  return query as DriverQuery;
}

/**
 * Another client with the options of this one and some of its own. Value types are shared.
 *
 * @param client a client that need not be connected.
 */
export function siblingOf(
  client: postgres.Sql,
  changes: Pick<postgres.Options<Record<string, never>>, 'max' | 'onclose'>,
): postgres.Sql {
  // Options parsed before are recognised by their key `shared` and taken as they are.
  return postgres({ ...client.options, ...changes } as object);
}

/** Makes the array types known by which `sql.array` finds the type of its parameter. */
export function teachArrayTypes(
  client: postgres.Sql,
  arrayOids: Readonly<Record<number, number>>,
): void {
  const { shared } = client.options as unknown as {
    shared: { typeArrayMap: Record<number, number> };
  };
  Object.assign(shared.typeArrayMap, arrayOids);
}

/**
 * Takes away the empty slots at the head of a result.
 *
 * After a statement that failed while sending rows, postgres.js 3.4.9 counts on from the rows of the
 * failed one: the next result on that connection begins with as many holes.
 */
export function withoutGaps<T>(result: T): T {
  if (!Array.isArray(result) || result.length === 0 || 0 in result) return result;
  let gap = 0;
  while (!(gap in result)) gap += 1;
  result.splice(0, gap);
  return result;
}

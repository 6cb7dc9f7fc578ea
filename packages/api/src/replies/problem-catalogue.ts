/** Every problem the API may answer with: its status, and what it means in one sentence. The code never changes. */
export const problemCatalogue = {
  'body-invalid': { status: 400, title: 'The body does not have the shape asked for' },
  'query-invalid': { status: 400, title: 'The address has a parameter that cannot be used' },
  'request-invalid': { status: 400, title: 'The request cannot be read' },
  'sign-in-needed': { status: 401, title: 'Sign in first' },
  'sign-in-refused': { status: 401, title: 'Address or password are not right' },
  'token-refused': { status: 401, title: 'The token is not known, has expired or was ended' },
  'not-allowed': { status: 403, title: 'Your role does not allow this' },
  'origin-refused': { status: 403, title: 'The request does not come from our own page' },
  'session-needed': { status: 403, title: 'Only a signed-in person can do this, not a token' },
  'route-unknown': { status: 404, title: 'There is nothing at this address' },
  'site-unknown': { status: 404, title: 'There is no such site' },
  'node-unknown': { status: 404, title: 'There is no such node' },
  'alert-unknown': { status: 404, title: 'There is no such alert' },
  'token-unknown': { status: 404, title: 'You have no such token' },
  'problem-unknown': { status: 404, title: 'There is no such problem' },
  'site-without-node': { status: 404, title: 'The site has no node yet' },
  'site-taken': { status: 409, title: 'Another site has this id' },
  'site-has-node': { status: 409, title: 'The site has a node already' },
  'node-taken': { status: 409, title: 'Another node has this name' },
  'body-too-large': { status: 413, title: 'The body is too large' },
  'content-type-refused': { status: 415, title: 'The body must be JSON' },
  'levels-crossed': { status: 422, title: 'The restart level must be above the shut-down level' },
  'range-invalid': { status: 422, title: 'The stretch of time cannot be used' },
  'metric-unknown': { status: 422, title: 'There is no such metric' },
  'time-zone-unknown': { status: 422, title: 'There is no such time zone' },
  'permission-beyond-role': { status: 422, title: 'A token may not do more than its owner' },
  'too-many-attempts': { status: 429, title: 'Too many attempts to sign in' },
  'server-fault': { status: 500, title: 'Something failed at our end' },
  'store-away': { status: 503, title: 'The database does not answer' },
  'not-ready': { status: 503, title: 'The server cannot do its work at the moment' },
} as const satisfies Record<string, { readonly status: number; readonly title: string }>;

export type ProblemCode = keyof typeof problemCatalogue;

export const problemCodes = Object.keys(problemCatalogue) as readonly ProblemCode[];

import type { TypeBoxTypeProvider } from '@fastify/type-provider-typebox';
import type { Permission } from '@duskline/domain';
import type {
  FastifyBaseLogger,
  FastifyInstance,
  RawReplyDefaultExpression,
  RawRequestDefaultExpression,
  RawServerDefault,
} from 'fastify';

/** The server under construction, with types that follow from the schemas. */
export type Door = FastifyInstance<
  RawServerDefault,
  RawRequestDefaultExpression,
  RawReplyDefaultExpression,
  FastifyBaseLogger,
  TypeBoxTypeProvider
>;

/** What a route asks of its caller. */
export type Allowed = Permission | 'anyone';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** Who may use the route. A route without it is refused when it is registered. */
    allow?: Allowed;
    /** Set: a person must do it, a token cannot. */
    by?: 'session';
  }
}

import { AjvCompiler } from '@fastify/ajv-compiler';
import type { FastifyServerOptions } from 'fastify';

type BuildValidator = NonNullable<
  NonNullable<
    NonNullable<FastifyServerOptions['schemaController']>['compilersFactory']
  >['buildValidator']
>;

/**
 * Compiles the check of a query or body when the first request brings one. Two hundred schemas compiled before the door opens
 * take longer than all else at a start, and a server that comes back after a crash has readings waiting.
 */
export function lateChecks(): BuildValidator {
  const build = AjvCompiler();
  // Fastify also takes a check that answers with what is wrong; the type knows only those of its compiler.
  const buildLate = (...[externals, options]: Parameters<typeof build>) => {
    // Even to ask for the compiler costs: it writes out all schemas to see whether it was asked before.
    let compile: ReturnType<typeof build> | undefined;
    return (route: Parameters<ReturnType<typeof build>>[0]) => {
      let check: ReturnType<ReturnType<typeof build>> | undefined;
      return (data: unknown) => {
        check ??= (compile ??= build(externals, options))(route);
        return check(data) === true ? { value: data } : { error: check.errors };
      };
    };
  };
  return buildLate as unknown as BuildValidator;
}

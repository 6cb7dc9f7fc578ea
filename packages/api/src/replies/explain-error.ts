import type { FastifyError } from 'fastify';
import { ApiProblem, type ProblemPart } from './api-problem.ts';

interface ExplainOptions {
  readonly requestId: string;
  readonly isDatabaseLost: (error: unknown) => boolean;
  /** What the route takes at most. */
  readonly bodyLimitBytes?: number;
}

/**
 * The problem behind anything that was thrown. What is not the caller's to mend says nothing of its inside: the number
 * of the request leads to it in the log.
 */
export function explainError(error: FastifyError, options: ExplainOptions): ApiProblem {
  if (error instanceof ApiProblem) return error;
  if (error.validation !== undefined) return explainValidation(error);
  if (options.isDatabaseLost(error))
    return new ApiProblem(
      'store-away',
      `The database does not answer, so nothing was read or changed. Try again in a few seconds (request ${options.requestId}).`,
      { headers: { 'retry-after': '5' }, cause: error },
    );
  return explainByStatus(error, options);
}

function explainByStatus(
  error: FastifyError,
  { requestId, bodyLimitBytes }: ExplainOptions,
): ApiProblem {
  switch (error.statusCode) {
    case 413:
      return new ApiProblem(
        'body-too-large',
        bodyLimitBytes === undefined
          ? 'Send a smaller body.'
          : `Send a smaller body: ${inWords(bodyLimitBytes)} is the most that is taken here.`,
      );
    case 415:
      return new ApiProblem(
        'content-type-refused',
        'Send the body as JSON, with the header Content-Type: application/json.',
      );
    case undefined:
    default:
      if (error.statusCode !== undefined && error.statusCode >= 400 && error.statusCode < 500)
        return new ApiProblem('request-invalid', requestFault(error));
      return new ApiProblem(
        'server-fault',
        `This is not your doing. Whoever runs the server finds the reason in its log under request ${requestId}.`,
        { cause: error },
      );
  }
}

const KIB = 1024;
const inWords = (bytes: number): string =>
  bytes >= KIB * KIB ? `${Math.floor(bytes / KIB / KIB)} MiB` : `${Math.floor(bytes / KIB)} KiB`;

/** Fastify's and the JSON parser's own words are about the request alone; anything else keeps to a general sentence. */
function requestFault(error: FastifyError): string {
  switch (error.code) {
    case 'FST_ERR_CTP_EMPTY_JSON_BODY':
      return 'The header Content-Type says JSON but the body is empty: send a body, or no Content-Type.';
    case 'FST_ERR_CTP_INVALID_JSON_BODY':
      return 'The body is not well-formed JSON: mend it and send it again.';
    case 'FST_ERR_CTP_INVALID_CONTENT_LENGTH':
      return 'The body is not as long as Content-Length says.';
    default:
      return error instanceof SyntaxError
        ? 'The body is not well-formed JSON: mend it and send it again.'
        : 'The request cannot be read as it is: check its address, headers and body.';
  }
}

function explainValidation(error: FastifyError): ApiProblem {
  const where = error.validationContext === 'body' ? 'body' : 'address';
  const errors: ProblemPart[] = (error.validation ?? []).map((fault) => ({
    pointer: faultPointer(fault),
    detail: faultText(fault),
  }));
  const first = errors[0];
  const sentence =
    first === undefined
      ? `The ${where} cannot be used.`
      : `In the ${where}, ${first.pointer === '' ? 'the whole' : first.pointer} ${first.detail}.`;
  return new ApiProblem(where === 'body' ? 'body-invalid' : 'query-invalid', sentence, { errors });
}

type ValidationFault = NonNullable<FastifyError['validation']>[number];

/** Points at the part itself, also where the validator points at what it is missing from. */
function faultPointer({ instancePath, keyword, params }: ValidationFault): string {
  const part =
    keyword === 'required'
      ? params['missingProperty']
      : keyword === 'additionalProperties'
        ? params['additionalProperty']
        : undefined;
  return typeof part === 'string'
    ? `${instancePath}/${part.replaceAll('~', '~0').replaceAll('/', '~1')}`
    : instancePath;
}

function faultText({ keyword, params, message }: ValidationFault): string {
  if (keyword === 'required') return 'is missing';
  if (keyword === 'additionalProperties') return 'is not expected here';
  if (keyword === 'enum' && Array.isArray(params['allowedValues']))
    return `must be one of ${params['allowedValues'].join(', ')}`;
  if (keyword === 'format' && params['format'] === 'date-time')
    return 'must be a date and time with its offset, such as 2026-11-25T06:00:00Z';
  return message ?? 'cannot be used';
}

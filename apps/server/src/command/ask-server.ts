import type { Problem } from '@duskline/contract';
import { CommandProblem } from './command-problem.ts';

export interface AskServer {
  /** @throws CommandProblem when the server says no, or cannot be reached */
  <T>(method: 'GET' | 'POST' | 'PUT' | 'DELETE', path: string, body?: unknown): Promise<T>;
}

/** The API of a server, asked with a token. Bytes are sent as they are, anything else as JSON. */
export function askServer({
  url,
  token,
}: {
  readonly url: string;
  readonly token: string;
}): AskServer {
  const root = rootOf(url);
  return async <T>(method: string, path: string, body?: unknown): Promise<T> => {
    const isBytes = body instanceof Uint8Array;
    const answer = await fetch(root + path, {
      method,
      redirect: 'error',
      headers: {
        authorization: `Bearer ${token}`,
        ...(body === undefined
          ? {}
          : { 'content-type': isBytes ? 'application/octet-stream' : 'application/json' }),
      },
      ...(body === undefined ? {} : { body: isBytes ? body : JSON.stringify(body) }),
    }).catch((cause: unknown) => {
      throw new CommandProblem(
        1,
        `${url} does not answer. Is the server running, and is the address right?`,
        { cause },
      );
    });
    const text = await answer.text();
    if (!answer.ok) throw problemOf(answer.status, text);
    return (text === '' ? undefined : JSON.parse(text)) as T;
  };
}

function rootOf(url: string): string {
  try {
    return `${new URL(url).toString().replace(/\/+$/, '')}/api/v1`;
  } catch (cause) {
    throw new CommandProblem(2, `“${url}” is no address: write it like https://duskline.example.`, {
      cause,
    });
  }
}

function problemOf(status: number, text: string): CommandProblem {
  try {
    const { detail, title } = JSON.parse(text) as Problem;
    return new CommandProblem(1, detail ?? title);
  } catch (cause) {
    return new CommandProblem(
      1,
      `The address answered ${status} and not like a Duskline server. Is it right?`,
      { cause },
    );
  }
}

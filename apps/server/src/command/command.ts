import type { Terminal } from './terminal.ts';

export interface CommandContext {
  readonly terminal: Terminal;
  readonly environment: Readonly<Record<string, string | undefined>>;
  /** Aborted when somebody presses Ctrl-C. */
  readonly signal: AbortSignal;
}

/** One thing the program `duskline` does. */
export interface Command {
  /** For the list of commands: what it does, without a full stop. */
  readonly summary: string;
  readonly help: string;
  /** @throws CommandProblem with the sentence for the terminal and the code to exit with */
  readonly run: (args: readonly string[], context: CommandContext) => Promise<void>;
}

/** Why a command ends without having done its work: the sentence for the terminal, and the code it exits with. */
export class CommandProblem extends Error {
  readonly exitCode: ExitCode;

  constructor(exitCode: ExitCode, message: string, options?: ErrorOptions) {
    super(message, options);
    this.name = 'CommandProblem';
    this.exitCode = exitCode;
  }
}

/** 1: it failed. 2: the command line cannot be understood. 3: something must be settled first. 130: it was stopped. */
export type ExitCode = 1 | 2 | 3 | 130;

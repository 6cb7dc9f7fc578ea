import { CommandProblem } from './command-problem.ts';
import type { Command, CommandContext } from './command.ts';

/** Runs the command that is named first. @returns the code to exit with */
export async function runCommand(
  commands: Readonly<Record<string, Command>>,
  args: readonly string[],
  context: CommandContext,
): Promise<number> {
  const { terminal } = context;
  const [name, ...rest] = args;
  const command = name !== undefined && Object.hasOwn(commands, name) ? commands[name] : undefined;
  if (command === undefined) {
    const isAsked = name === undefined || name === '--help' || name === 'help';
    const say = isAsked ? terminal.out : terminal.note;
    if (!isAsked) say(`There is no command “${name}”.`);
    say('duskline COMMAND …, one of');
    for (const [one, { summary }] of Object.entries(commands)) say(`  ${one.padEnd(10)}${summary}`);
    say('“duskline COMMAND --help” says more.');
    return isAsked ? 0 : 2;
  }
  if (rest.includes('--help')) {
    terminal.out(command.help);
    return 0;
  }
  try {
    await command.run(rest, context);
    return 0;
  } catch (error) {
    if (!(error instanceof CommandProblem)) throw error;
    terminal.note(error.message);
    return error.exitCode;
  }
}

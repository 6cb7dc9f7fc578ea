import type { Command } from './command.ts';
import { exportCommand } from './export-command.ts';
import { importCommand } from './import-command.ts';
import { runCommand } from './run-command.ts';
import { processTerminal } from './terminal.ts';

/** The commands of `npm run duskline -- …`: each a file, and a line here. */
const commands: Readonly<Record<string, Command>> = {
  export: exportCommand,
  import: importCommand,
};

const controller = new AbortController();
process.once('SIGINT', () => controller.abort());

process.exitCode = await runCommand(commands, process.argv.slice(2), {
  terminal: processTerminal(),
  environment: process.env,
  signal: controller.signal,
});

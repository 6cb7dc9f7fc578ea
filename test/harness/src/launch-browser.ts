import { access, constants } from 'node:fs/promises';
import type { Browser } from 'playwright-core';

const flags = [
  '--headless',
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--disable-dev-shm-usage',
];

/**
 * Starts a Chromium without a window: the one named by CHROME_PATH or CHROMIUM_PATH, else the one that an npm package
 * brings (Linux on x64), else an installed one.
 *
 * Contexts must say `locale: 'en-GB'` (`newTestContext` does): without a language the browser names one that libraries
 * cannot read.
 *
 * @throws Error that says how to get one.
 */
export async function launchBrowser(): Promise<Browser> {
  const { chromium } = await import('playwright-core');
  found ??= findBrowser();
  const { executablePath, env } = await found;
  return await chromium.launch({ executablePath, env, args: flags });
}

/** Loading the package sets its variables only the first time. */
let found: Promise<FoundBrowser> | undefined;

interface FoundBrowser {
  readonly executablePath: string;
  /** What it is to be started with; not for other programs. */
  readonly env: Record<string, string | undefined>;
}

async function findBrowser(): Promise<FoundBrowser> {
  const named = process.env['CHROME_PATH'] ?? process.env['CHROMIUM_PATH'];
  if (named !== undefined && named !== '') {
    if (await isProgram(named)) return { executablePath: named, env: process.env };
    throw new Error(`CHROME_PATH names ${named}, which cannot be started.`);
  }
  const brought = await browserFromNpm();
  if (brought !== undefined) return brought;
  for (const installed of ['/usr/bin/chromium', '/usr/bin/google-chrome']) {
    if (await isProgram(installed)) return { executablePath: installed, env: process.env };
  }
  throw new Error(
    'There is no browser to test with: install Chromium (Debian: apt-get install chromium) ' +
      'or set CHROME_PATH to one.',
  );
}

/** The variables that the package sets when it is loaded, for its browser alone. */
const changedByPackage = ['AWS_LAMBDA_JS_RUNTIME', 'FONTCONFIG_PATH', 'HOME', 'LD_LIBRARY_PATH'];

async function browserFromNpm(): Promise<FoundBrowser | undefined> {
  if (process.platform !== 'linux' || process.arch !== 'x64') return undefined;
  const before = changedByPackage.map((name) => [name, process.env[name]] as const);
  // Makes it unpack the shared libraries that a bare system lacks.
  process.env['AWS_LAMBDA_JS_RUNTIME'] = 'nodejs20.x';
  try {
    const { default: brought } = await import('@sparticuz/chromium');
    const executablePath = await brought.executablePath();
    const env = { ...process.env };
    return (await isProgram(executablePath)) ? { executablePath, env } : undefined;
  } catch {
    return undefined;
  } finally {
    for (const [name, value] of before) {
      if (value === undefined) delete process.env[name];
      else process.env[name] = value;
    }
  }
}

async function isProgram(file: string): Promise<boolean> {
  return access(file, constants.X_OK).then(
    () => true,
    () => false,
  );
}

import { existsSync } from 'node:fs';
import { chromium, type Browser } from 'playwright-core';

/** The browser of the system; another is named by CHROMIUM. */
const PATH = process.env['CHROMIUM'] ?? '/usr/bin/chromium';
/** CI says that there must be one, so that its tests cannot be left out unseen. */
const REQUIRED = process.env['BROWSER_TESTS'] === 'required';

export const hasBrowser = existsSync(PATH) || REQUIRED;
if (!hasBrowser)
  console.warn(`no ${PATH}: the report is not opened in a browser; install chromium, or name one by CHROMIUM`);

/** Starts the browser; fails where it is required and missing. */
export async function startBrowser(): Promise<Browser> {
  if (!existsSync(PATH)) throw new Error(`BROWSER_TESTS=required, but there is no ${PATH}: apt-get install chromium`);
  // as root, as in a container, its own sandbox does not start
  return await chromium.launch({ executablePath: PATH, args: ['--no-sandbox'] });
}

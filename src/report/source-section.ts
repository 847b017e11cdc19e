/** Where the numbers come from, and how to get them again. */
import type { Facts } from './facts.js';
import { counted, listed } from './figures.js';
import type { Manifest } from './folder.js';
import { markup, type Markup } from './html.js';

export function sourceSection({ folder }: Facts): Markup | null {
  const parts = [...folder.manifests].map(([file, manifest], i) => sourceOf(file, manifest, i === 0));
  return parts.length === 0 ? null : markup`${parts}`;
}

const KINDS: Readonly<Record<string, string>> = {
  'manifest.json': 'The run',
  'comparison.json': 'The comparison',
  'sweep.json': 'The sweep',
};

function sourceOf(file: string, manifest: Manifest, withText: boolean): Markup {
  const {
    command,
    seed,
    replications,
    version,
    scenario_file,
    scenario_sha256,
    scenario_text,
    against,
    warnings,
    notes,
  } = manifest;
  const texts = [{ scenario_file, scenario_text }, ...(against === null ? [] : [against])];
  return markup`<h3>${KINDS[file] ?? file}</h3>
    ${
      command !== '' &&
      markup`<p>This gives the same tables, byte for byte, with burstyard ${version}:</p>
        <pre class="command" tabindex="0" role="group" aria-label="command">${command}</pre>`
    }
    <dl class="origin">
      <div>
        <dt>seed</dt>
        <dd>${seed}</dd>
      </div>
      <div>
        <dt>replications</dt>
        <dd>${replications}</dd>
      </div>
      <div>
        <dt>version</dt>
        <dd>${version}</dd>
      </div>
      <div>
        <dt>scenario</dt>
        <dd>${scenario_file}</dd>
      </div>
      <div>
        <dt>its SHA-256</dt>
        <dd class="hash">${scenario_sha256}</dd>
      </div>
    </dl>
    ${
      warnings.length > 0 &&
      markup`<h4>Warnings</h4>
        <ul>
          ${warnings.map(({ text, count }) => markup`<li>${text}${count > 1 && ` (${counted(count, 'time')})`}</li>`)}
        </ul>`
    }
    ${
      notes.length > 0 &&
      markup`<h4>Why cells are empty</h4>
        <ul>
          ${notes.map((note) => markup`<li>${note}</li>`)}
        </ul>`
    }
    ${
      withText &&
      texts.map(
        (one) =>
          one.scenario_text !== '' &&
          markup`<details class="scenario">
            <summary>The scenario, ${listed([one.scenario_file])}</summary>
            <pre tabindex="0" role="group" aria-label="text of ${one.scenario_file}">${one.scenario_text}</pre>
          </details>`,
      )
    }`;
}

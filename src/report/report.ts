/** A results folder as one HTML page that needs nothing else: no network, no script for what it shows. */
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { CAUTION } from '../output/caution.js';
import { answerOf } from './answer.js';
import { blameSection } from './blame-section.js';
import { budgetTable } from './budget-table.js';
import { loadDrawing } from './chart.js';
import { comparisonSection } from './comparison-section.js';
import { dataSection } from './data-section.js';
import { diagramSection } from './diagram-section.js';
import { type Facts, factsOf } from './facts.js';
import type { Folder } from './folder.js';
import { markup, Markup } from './html.js';
import { latencySection } from './latency-section.js';
import { memorySection } from './memory-section.js';
import { pathSection } from './path-section.js';
import { sourceSection } from './source-section.js';
import { placeSection } from './place-section.js';
import { stageSection } from './stage-section.js';
import { sweepSection } from './sweep-section.js';
import { taskSection } from './task-section.js';
import { timelineSection } from './timeline-section.js';

/** A part of the page: what it answers is its heading. */
interface Section {
  readonly id: string;
  readonly heading: string;
  readonly body: Markup | null;
}

/** The page's own style and script. */
const STYLE = readFileSync(new URL('page/style.css', import.meta.url), 'utf8');
const SCRIPT = readFileSync(new URL('page/script.js', import.meta.url), 'utf8');

/** The report: a function of what is in the folder, and of nothing else. */
export async function reportHtml(folder: Folder): Promise<string> {
  const facts = factsOf(folder);
  const drawing = await loadDrawing();
  const sections: Section[] = [
    { id: 'comparison', heading: 'Which is better for what?', body: comparisonSection(facts, drawing) },
    { id: 'place', heading: 'Who attaches where best?', body: placeSection(facts) },
    { id: 'sweep', heading: 'What if it changes?', body: sweepSection(facts, drawing) },
    { id: 'tasks', heading: 'Is the work done in time?', body: taskSection(facts) },
    { id: 'wiring', heading: 'How is it wired?', body: await diagramSection(facts) },
    { id: 'paths', heading: 'How does each path fare?', body: pathSection(facts, drawing) },
    { id: 'latency', heading: 'How late, and how often?', body: latencySection(facts, drawing) },
    { id: 'stages', heading: 'Where does the time go?', body: stageSection(facts, drawing) },
    { id: 'blame', heading: 'Who is waited for?', body: blameSection(facts) },
    { id: 'time', heading: 'When?', body: timelineSection(facts, drawing) },
    { id: 'memory', heading: 'What do memory and caches do?', body: memorySection(facts, drawing) },
    { id: 'data', heading: 'The numbers', body: dataSection(facts) },
    { id: 'source', heading: 'How to get this again', body: sourceSection(facts) },
  ];
  const shown = sections.filter(({ body }) => body !== null);
  return page(facts, shown).text;
}

function page(facts: Facts, sections: readonly Section[]): Markup {
  const title = titleOf(facts);
  const script = SCRIPT.trim();
  const parts = [{ id: 'answer', heading: 'The answer' }, ...sections];
  const links = parts.map(({ id, heading }) => markup`<li><a href="#${id}">${heading}</a></li>`);
  const hash = createHash('sha256').update(script).digest('base64');
  // nothing may be fetched, and nothing runs but the one script whose hash stands here
  const policy = `default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'`;
  return markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${title}</title>
<style>${new Markup(STYLE)}</style>
</head>
<body>
<a class="skip" href="#answer">Skip to the answer</a>
<div class="sheet">
<header>${titleBlock(facts, title)}</header>
<nav aria-label="Parts of this report"><ol>${links}</ol></nav>
<main>
<section id="answer" aria-labelledby="answer-heading"><h2 id="answer-heading">The answer</h2>${answer(facts)}</section>
${sections.map(sectionMarkup)}
</main>
<footer><h2>Caution</h2><p>${CAUTION}</p></footer>
</div>
<script>${new Markup(script)}</script>
</body>
</html>
`;
}

const sectionMarkup = ({ id, heading, body }: Section): Markup =>
  markup`<section id="${id}" aria-labelledby="${id}-heading"><h2 id="${id}-heading">${heading}</h2>${body}</section>\n`;

const titleOf = ({ manifest }: Facts): string => manifest?.title || manifest?.scenario || 'Results';

/** The question as the author put it, where the scenario begins with one; else its title. */
function titleBlock({ manifest, looks }: Facts, title: string): Markup {
  const question = manifest === null ? null : questionOf(manifest.scenario_text);
  const cells = [
    ['scenario', manifest?.scenario ?? ''],
    ['placements', looks.map(({ name }) => name).join(', ')],
    ['seed', manifest?.seed ?? ''],
    ['replications', manifest === null || manifest.replications === 0 ? '' : String(manifest.replications)],
    ['burstyard', manifest?.version ?? ''],
  ].filter(([, value]) => value !== '');
  return markup`<div class="block">
    <div class="question">
      <p class="kind">Question</p>
      <h1>${question ?? title}</h1>
      ${question !== null && markup`<p class="title">${title}</p>`}
    </div>
    <dl>
      ${cells.map(
        ([name, value]) =>
          markup`<div>
            <dt>${name!}</dt>
            <dd>${value!}</dd>
          </div>`,
      )}
    </dl>
  </div>`;
}

/** The first paragraph of the comment that a scenario begins with, if it says that it is the question. */
export function questionOf(text: string): string | null {
  const [first = '', ...rest] = text.split(/\r?\n/u);
  const start = /^#\s*Question:(.*)$/u.exec(first);
  if (start === null) return null;
  const end = rest.findIndex((line) => !/^#\s*\S/u.test(line));
  const more = rest.slice(0, end < 0 ? rest.length : end).map((line) => line.slice(1).trim());
  const question = [start[1]!.trim(), ...more].join(' ').trim();
  return question === '' ? null : question[0]!.toUpperCase() + question.slice(1);
}

function answer(facts: Facts): Markup {
  const sentences = answerOf(facts);
  const signs = { good: '✓', bad: '!', head: '', plain: '' };
  const said =
    sentences.length === 0
      ? markup`<p>The folder holds no budgets, and no comparison; what was measured follows.</p>`
      : markup`<ul class="answer">
          ${sentences.map(({ text, tone }) => markup`<li class="${tone}">${signs[tone] !== '' && markup`<span class="sign" aria-hidden="true">${signs[tone]}</span>`}${text}</li>`)}
        </ul>`;
  return markup`${said}${budgetTable(facts)}
    <p class="brief">
      A model, not silicon: the largest latency seen is not a worst-case bound. See the caution at the end.
    </p>`;
}

/** How it is wired: each placement's platform, its links as broad as they are busy, the path of one master marked. */
import { diagramOf, type Box, type Link } from './diagram.js';
import { boxSubtitle, LINE, PAD, placed, type Placed } from './diagram-layout.js';
import { type Facts, pooledOf } from './facts.js';
import { rateText, shareText } from './figures.js';
import type { Platform } from './folder.js';
import { markup, idOf, Markup } from './html.js';
import { textIn } from './sheet.js';

export async function diagramSection(facts: Facts): Promise<Markup | null> {
  if (facts.platforms.length === 0) return null;
  const chosen = chosenMaster(facts);
  const drawings: Markup[] = [];
  for (const [i, platform] of facts.platforms.entries()) {
    const drawn = await drawing(facts, platform, chosen);
    drawings.push(i < MOST_OPEN ? drawn : folded(platform.placement, drawn));
  }
  const masters = [...new Set(facts.platforms.flatMap((platform) => platform.masters.map(({ name }) => name)))];
  return markup`<p>
      Masters at the left, memories and devices at the right. A link is as broad as its busiest channel is busy, and
      says so; what carried nothing is thin and pale. Dashed: where a cache fetches and writes back for the master.
      <span class="for-script">Point at a part for its figures, or reach it with Tab and the arrow keys.</span>
    </p>
    <fieldset class="chips for-script">
      <legend>Mark the path of</legend>
      ${masters.map(
        (name) =>
          markup`<label
            ><input
              type="radio"
              name="path-of"
              value="${idOf(name)}"
              data-name="${name}"
              ${name === chosen && CHECKED}
            />
            ${name}</label
          >`,
      )}
    </fieldset>
    ${drawings}`;
}

/** Of many placements only the first are seen at once. */
const MOST_OPEN = 2;
const folded = (placement: string, drawn: Markup): Markup =>
  markup`<details class="group"><summary>${placement}</summary>${drawn}</details>`;

const CHECKED = markup` checked`;

/** The master that the first budget is about, since the question is about it; else the first. */
function chosenMaster({ platforms }: Facts): string {
  const masters = platforms.flatMap((platform) => platform.masters.map(({ name }) => name));
  const subjects = platforms.flatMap(({ budgets }) => budgets.map(({ subject }) => subject.split(' ')[0]!));
  return subjects.find((name) => masters.includes(name)) ?? masters[0] ?? '';
}

async function drawing(facts: Facts, platform: Platform, chosen: string): Promise<Markup> {
  const of = (file: string) => pooledOf(facts, file).filter((row) => textIn(row, 'placement') === platform.placement);
  const diagram = diagramOf(platform, of('resources.csv'), of('latency.csv'));
  const layout = await placed(diagram, labelOf);
  const { width, height, boxes, links } = layout;
  return markup`<figure class="wide">
    <div class="scroll">
      <svg
        class="diagram"
        role="group"
        aria-label="platform of placement ${platform.placement}, drawn from the scenario"
        viewBox="0 0 ${width} ${height}"
        width="${width}"
        height="${height}"
      >
        ${links.map((one) => linkMarkup(one, chosen))} ${boxes.map((one) => boxMarkup(one, layout, chosen))}
      </svg>
    </div>
    <figcaption>
      <strong>${platform.placement}</strong>, marked: the path of <span class="marked">${chosen}</span>.
      <output class="readout for-script"></output>
    </figcaption>
  </figure>`;
}

/** Masters tell their own rates. */
function labelOf({ load }: Link): string {
  return load === null || load < 0.0005 ? '' : shareText(load);
}

/** Marks for the page's script: whose path the part is on. */
interface Marks {
  readonly data: string;
  readonly more: string;
  readonly on: string;
}

function usersOf(users: readonly string[], refill: readonly string[], chosen: string): Marks {
  const on = users.includes(chosen) ? ' on' : refill.includes(chosen) ? ' on refill' : '';
  return { data: users.map((name) => idOf(name)).join(' '), more: refill.map((name) => idOf(name)).join(' '), on };
}

/** A part that can be on a chosen path, and that is read out. */
function itemMarkup(look: string, { data, more }: Marks, says: string, content: Markup): Markup {
  return markup`<g
    class="item ${look}"
    data-users="${data}"
    data-refill="${more}"
    role="img"
    aria-label="${says}"
    ><title>${says}</title>${content}</g
  >`;
}

function linkMarkup({ link, points, label }: Placed['links'][number], chosen: string): Markup {
  const marks = usersOf(link.users, link.refillUsers, chosen);
  const idle = link.load === 0 ? ' idle' : '';
  const line = points.map(({ x, y }, i) => `${i === 0 ? 'M' : 'L'}${round(x)} ${round(y)}`).join('');
  const breadth = round(1.2 + 9 * Math.sqrt(link.load ?? 0));
  const figure = labelOf(link);
  const content = markup` <path class="reach" d="${line}" /><path
      class="line"
      d="${line}"
      stroke-width="${breadth}"
    />
    ${label !== null && markup`<rect class="plate" x="${round(label.x - figure.length * 3.7 - 2)}" y="${round(label.y - 8)}" width="${round(figure.length * 7.4 + 4)}" height="16" rx="3" /><text x="${round(label.x)}" y="${round(label.y + 4)}" text-anchor="middle">${figure}</text>`}`;
  return itemMarkup(`link${marks.on}${idle}`, marks, linkSays(link), content);
}

const spoken = (id: string): string => id.replace(/^element /u, '').replace(/^masters /u, 'masters at ');

function linkSays({ from, to, channels, mbPerS, load }: Link): string {
  const name = `${spoken(from)} to ${spoken(to)}`;
  if (mbPerS !== null) return `${name}: ${rateText(mbPerS)} in all`;
  if (load === null) return name;
  const busy = channels.map((channel) => `${channel.name} busy ${shareText(channel.busy)}`);
  return busy.length === 0 ? `${name}: carried nothing` : `${name}: ${busy.join(', ')}`;
}

function boxMarkup({ box, x, y, width, height }: Placed['boxes'][number], layout: Placed, chosen: string): Markup {
  return box.element === null
    ? mastersMarkup(box, x, y, width, height, chosen)
    : elementMarkup(box, x, y, width, height, layout, chosen);
}

function mastersMarkup({ masters }: Box, x: number, y: number, width: number, height: number, chosen: string): Markup {
  return markup`<rect
      class="masters"
      x="${round(x)}"
      y="${round(y)}"
      width="${round(width)}"
      height="${round(height)}"
      rx="10"
    />${masters.map(({ name, mbPerS }, i) => {
      const top = y + PAD / 2 + i * LINE;
      const says = `master ${name}${mbPerS === null ? '' : `: ${rateText(mbPerS)} carried`}`;
      return markup`<g
        class="item master${name === chosen && ' on'}"
        data-users="${idOf(name)}"
        data-refill=""
        data-master="${idOf(name)}"
        role="img"
        aria-label="${says}"
        ><title>${says}</title>
        <rect class="row" x="${round(x + 3)}" y="${round(top)}" width="${round(width - 6)}" height="${LINE}" rx="7" />
        <text x="${round(x + PAD)}" y="${round(top + 14)}">${name}</text>
        <text class="quiet" x="${round(x + width - PAD)}" y="${round(top + 14)}" text-anchor="end"
          >${mbPerS === null ? '' : rateText(mbPerS)}</text
        ></g
      >`;
    })}`;
}

function elementMarkup(
  { id, element, busy, idle }: Box,
  x: number,
  y: number,
  width: number,
  height: number,
  { links }: Placed,
  chosen: string,
): Markup {
  const touching = links.filter(({ link }) => link.from === id || link.to === id).map(({ link }) => link);
  const users = [...new Set(touching.flatMap((link) => link.users))];
  const refill = [...new Set(touching.flatMap((link) => link.refillUsers))];
  const marks = usersOf(users, refill, chosen);
  const name = element!.name;
  const says = `${name}: ${boxSubtitle(element!)}${busy === null ? '' : `, ${idle ? 'not used' : `busy ${shareText(busy)} of the time`}`}`;
  const inner = width - 2 * PAD;
  const content = markup`
    <rect class="box" x="${round(x)}" y="${round(y)}" width="${round(width)}" height="${round(height)}" rx="2" />
    <text class="name" x="${round(x + PAD)}" y="${round(y + 18)}">${name}</text
    ><text class="quiet" x="${round(x + PAD)}" y="${round(y + 33)}">${boxSubtitle(element!)}</text>
    ${busy !== null && markup`<rect class="gauge" x="${round(x + PAD)}" y="${round(y + 43)}" width="${round(inner - 56)}" height="7" /><rect class="filled" x="${round(x + PAD)}" y="${round(y + 43)}" width="${round((inner - 56) * Math.min(1, busy))}" height="7" /><text class="quiet" x="${round(x + width - PAD)}" y="${round(y + 50)}" text-anchor="end">${shareText(busy)}</text>`}`;
  return itemMarkup(`element${marks.on}${idle && busy !== null ? ' idle' : ''}`, marks, says, content);
}

const round = (value: number): number => Math.round(value * 10) / 10;

/** Charts as SVG text: drawn here once and for all, so that a page shows them with its script switched off. */
import type * as Plot from '@observablehq/plot';
import { markup, Markup } from './html.js';

/** The chart library, loaded when the first chart is drawn: a run should not wait for it. */
export interface Drawing {
  readonly plot: typeof Plot;
  readonly draw: (options: Plot.PlotOptions, about: About) => Markup;
}

export interface About {
  /** What the chart shows, in a sentence: its name for who cannot see it. */
  readonly says: string;
  /** Attributes for the page's script. */
  readonly data?: Readonly<Record<string, string>>;
}

export async function loadDrawing(): Promise<Drawing> {
  const plot = await import('@observablehq/plot');
  const { parseHTML } = await import('linkedom');
  const { document } = parseHTML('<html></html>');
  const draw = (options: Plot.PlotOptions, { says, data = {} }: About): Markup => {
    const svg = plot.plot({ ...options, document: document as never, className: 'chart', figure: false });
    svg.querySelector('style')?.remove();
    // children of an image are not read out, so what the library says of its marks is dead weight
    for (const node of svg.querySelectorAll('[aria-label]')) node.removeAttribute('aria-label');
    // the document of the library leaves some marks in attributes as they are, so that texts of ours go in by ourselves
    const marks = Object.entries(data).map(([name, value]) => markup` data-${name}="${value}"`);
    const head = markup`<svg role="img" aria-label="${says}"${marks}`;
    return new Markup(shortened(svg.outerHTML).replace('<svg', () => head.text));
  };
  return { plot, draw };
}

/** A hundredth of a pixel is enough. */
function shortened(svg: string): string {
  return svg.replace(
    /(\s(?:d|transform|x|y|x1|x2|y1|y2|cx|cy|width|height|r)=")([^"]*)"/g,
    (_all, name: string, value: string) => {
      return `${name}${value.replace(/-?\d+\.\d{3,}/g, (digits) => String(Number(Number(digits).toFixed(2))))}"`;
    },
  );
}

/** A chart as broad as the page, with its caption; on a narrow screen it keeps its size and scrolls in its own box. */
export function broad(chart: Markup, caption: string): Markup {
  return markup`<figure class="wide"><div class="scroll" tabindex="0" role="group" aria-label="chart, scrolls sideways">${chart}</div><figcaption>${caption}</figcaption></figure>`;
}

/** A small chart under its name, with what belongs to it below. */
export function card(name: Markup, chart: Markup, below: Markup | null = null): Markup {
  return markup`<figure class="small"><figcaption>${name}</figcaption>${chart}${below}</figure>`;
}

import type { Scenario } from '../scenario/scenario.js';
import type { CheckReport, PathCheck } from '../study/check.js';
import type { ChannelLoad } from '../study/offered-load.js';
import { CAUTION } from './caution.js';
import { nanoseconds, percent, readableRate } from './format.js';
import type { Look } from './look.js';
import { left, right, textTable } from './text-table.js';
import { wrap } from './wrap.js';

/** What `check` prints. */
export function checkText(scenario: Scenario, reports: readonly CheckReport[], options: Look): string {
  const parts = reports.map((report) => placementText(scenario, report, options));
  return `${[...parts, wrap(CAUTION, options.width, '').join('\n')].join('\n\n')}\n`;
}

function placementText(scenario: Scenario, report: CheckReport, options: Look): string {
  const heading = options.paint('heading', `${scenario.name}, placement ${report.placement}: not simulated`);
  const loads = report.loads.length === 0 ? '' : `Offered load\n${loadTable(report.loads, options)}`;
  const paths = report.paths.map((path) => pathText(path, options)).join('\n\n');
  const warnings = report.warnings.map((text) => wrap(`- ${text}`, options.width, '  ').join('\n'));
  const said = warnings.length === 0 ? 'No warnings.' : [options.paint('bad', 'Warnings'), ...warnings].join('\n');
  return [heading, `Unloaded latency\n${paths}`, loads, said].filter((part) => part !== '').join('\n\n');
}

function pathText(path: PathCheck, options: Look): string {
  const lines = [`${path.master} ${path.operation} of ${path.bytes} bytes: ${path.route.join(' > ')}`];
  for (const { assumes, atEdgeZero, minPs, maxPs } of path.cases) {
    const range = minPs === maxPs ? '' : ` (${nanoseconds(minPs)} to ${nanoseconds(maxPs)} over clock phases)`;
    const label = assumes === '' ? '' : `${assumes}: `;
    lines.push(`  ${label}${options.paint('good', `${nanoseconds(atEdgeZero.totalPs)} ns`)}${range}`);
    const stages = atEdgeZero.stages.map(
      ({ element, stage, fromPs, toPs }) => `${element} ${stage} ${nanoseconds(toPs - fromPs)}`,
    );
    lines.push(...wrap(stages.join(', '), options.width - 4, '').map((line) => `    ${line}`));
  }
  return lines.join('\n');
}

function loadTable(loads: readonly ChannelLoad[], options: Look): string {
  const columns = [left('element'), left('channel'), right('offered'), right('capacity'), right('load')];
  const rows = loads.map((load) => [
    load.element,
    load.channel,
    readableRate(load.offeredBytesPerS),
    Number.isFinite(load.capacityBytesPerS) ? readableRate(load.capacityBytesPerS) : '-',
    Number.isFinite(load.capacityBytesPerS) ? percent(load.offeredBytesPerS / load.capacityBytesPerS) : '-',
  ]);
  return textTable(columns, rows, options.width);
}

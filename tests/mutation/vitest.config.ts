// The tests of one part, in the order of its list: vitest itself would begin with the slowest file, and a mutant runs
// until the first test fails.
import { matchesGlob, relative } from 'node:path';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { partOf } from './parts.js';

const { tests } = partOf(process.env['MUTANTS_PART'] ?? 'engine');

class InOrder extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = (file: TestSpecification): number =>
      tests.findIndex((glob) => matchesGlob(relative(process.cwd(), file.moduleId), glob));
    return files.toSorted((a, b) => rank(a) - rank(b));
  }
}

export default defineConfig({
  test: { include: [...tests], isolate: false, sequence: { sequencer: InOrder } },
});

import { expect, it } from 'vitest';
import { commandWords } from '../../src/cli/command-words.js';

it('a command is written with the options that are given, in their order, as they are typed', () => {
  const options = {
    placement: ['east', 'west'],
    burstsOf: [],
    seed: undefined,
    replications: 3,
    whole: true,
    bursts: false,
    waveBetween: '1us..2us',
  };
  expect(commandWords('run', 'a file.yaml', options).join(' ')).toBe(
    'burstyard run a file.yaml --placement east west --replications 3 --whole --wave-between 1us..2us',
  );
});

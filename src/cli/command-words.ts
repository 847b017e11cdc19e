/** What an option is given as: a flag, a value, or several; none where it is left out. */
type Given = boolean | number | string | readonly string[] | undefined;

/** The words of a command on a file, with the options that are given, in their order. */
export function commandWords(command: string, path: string, options: Readonly<Record<string, Given>>): string[] {
  return ['burstyard', command, path, ...Object.entries(options).flatMap(([name, given]) => optionWords(name, given))];
}

function optionWords(name: string, given: Given): string[] {
  const values = typeof given === 'object' ? given : [given];
  if (values.length === 0 || given === undefined || given === false) return [];
  const flag = name.replaceAll(/[A-Z]/gu, (letter) => `-${letter.toLowerCase()}`);
  return [`--${flag}`, ...(given === true ? [] : values.map(String))];
}

/** A command that cannot be carried out, in words for the user, and the exit code that says so. */
export class CommandError extends Error {
  override readonly name = 'CommandError';

  constructor(
    message: string,
    readonly exitCode: number,
  ) {
    super(message);
  }
}

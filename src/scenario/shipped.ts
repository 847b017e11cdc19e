/**
 * What is made of a file that comes with the program: read when it is first asked for, by its name, and kept, as many ask. The
 * files never change while the program runs, so that nothing depends on who asked first.
 */
export class Shipped<T> {
  private readonly made = new Map<string, T>();

  /** @param make makes it; `name` tells the files apart where there are several */
  constructor(private readonly make: (name: string) => T) {}

  get(name = ''): T {
    const known = this.made.get(name);
    if (known !== undefined) return known;
    const made = this.make(name);
    this.made.set(name, made);
    return made;
  }
}

/** What the codes of `data/expected.csv` stand for: author and year, as in the list that came with the values. */
const SOURCES = new Map([
  ['AVI65', 'Avi-Itzhak 1965'],
  ['BCMP75', 'Baskett, Chandy, Muntz, Palacios 1975'],
  ['BHA75', 'Bhandarkar 1975'],
  ['BOX87', 'Boxma, Groenendijk 1987'],
  ['BUR56', 'Burke 1956'],
  ['BUR75', 'Burke 1975'],
  ['BUZ73', 'Buzen 1973'],
  ['CHA83', 'Chaudhry, Templeton 1983'],
  ['COB54', 'Cobham 1954'],
  ['CRO32', 'Crommelin 1932'],
  ['DEN78', 'Denning, Buzen 1978'],
  ['ERL17', 'Erlang 1917'],
  ['FIS93', 'Fischer, Meier-Hellstern 1993'],
  ['FLA84', 'Flatto, Hahn 1984'],
  ['FRA01', 'Franx 2001'],
  ['FRI65', 'Friedman 1965'],
  ['GOR67', 'Gordon, Newell 1967'],
  ['GRO18', 'Shortle, Thompson, Gross, Harris 2018'],
  ['HEF86', 'Heffes, Lucantoni 1986'],
  ['HUN83', 'Hunter 1983 vol. 2'],
  ['JAC57', 'Jackson 1957'],
  ['KAR87', 'Karol, Hluchyj, Morgan 1987'],
  ['KLE65', 'Kleinrock 1965'],
  ['KLE75', 'Kleinrock 1975 vol. 1'],
  ['KLE76', 'Kleinrock 1976 vol. 2'],
  ['KUC73', 'Kuczura 1973'],
  ['MEI58', 'Meisling 1958'],
  ['NEL88', 'Nelson, Tantawi 1988'],
  ['NEU81', 'Neuts 1981'],
  ['README', "its transform inverted by Crommelin's series"],
  ['REI63', 'Reich 1963'],
  ['REI80', 'Reiser, Lavenberg 1980'],
  ['SCH67', 'Scherr 1967'],
  ['SEV81', 'Sevcik, Mitrani 1981'],
  ['TAK62', 'Takács 1962'],
  ['TAK86', 'Takagi 1986'],
  ['TAK93', 'Takagi 1993 vol. 3'],
  ['elementary', 'counting, no source'],
]);

/** Codes such as `KLE75 ch5; TAK62` in words. */
export function spelled(codes: string): string {
  return codes.split('; ').map(oneSpelled).join('; ');
}

function oneSpelled(text: string): string {
  const [code, chapter] = text.split(' ch') as [string, string | undefined];
  const name = SOURCES.get(code);
  if (name === undefined) throw new RangeError(`unknown source: ${code}`);
  return chapter === undefined ? name : `${name} ch. ${chapter}`;
}

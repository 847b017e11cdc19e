/** The commands that do not simulate, and are over soon. A build makes one file of them (bundle.ts). */
export { checkCommand } from './check.js';
export { explainCommand, newCommand, schemaCommand } from './language.js';

// What the page's scripts are held to, beside their types. Modules come from the folder that OWNBLOCK_NODE_MODULES names.

import { createRequire } from "node:module";
import path from "node:path";

const globals = createRequire(path.join(process.env.OWNBLOCK_NODE_MODULES, "any.js"))("globals");
const rules = [
  "default-case-last",
  "eqeqeq",
  "no-cond-assign",
  "no-constant-condition",
  "no-dupe-else-if",
  "no-dupe-keys",
  "no-duplicate-imports",
  "no-empty",
  "no-eval",
  "no-fallthrough",
  "no-prototype-builtins",
  "no-redeclare",
  "no-self-assign",
  "no-shadow",
  "no-throw-literal",
  "no-undef",
  "no-unreachable",
  "no-unsafe-finally",
  "no-unused-vars",
  "no-useless-return",
  "no-var",
  "prefer-const",
];

export default [
  {
    files: ["**/*.js"],
    languageOptions: { ecmaVersion: 2023, sourceType: "module", globals: globals.browser },
    rules: Object.fromEntries(rules.map((rule) => [rule, "error"])),
  },
];

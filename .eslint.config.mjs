// How the page's scripts are checked:  npx --yes eslint@9.39.1 -c .eslint.config.mjs --max-warnings 0 gen/pages
// The recommended rules are those of the eslint that runs, so that nothing else needs to be installed.
import { realpathSync } from "node:fs";
import { createRequire } from "node:module";

const recommended = createRequire(realpathSync(process.argv[1]))("@eslint/js").configs.recommended.rules;
const BROWSER = ["atob", "document", "Event", "Option", "requestAnimationFrame", "ResizeObserver", "window"];

export default [
  {
    files: ["**/*.js"],
    languageOptions: {
      ecmaVersion: 2023,
      sourceType: "module",
      globals: Object.fromEntries(BROWSER.map((name) => [name, "readonly"])),
    },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      ...recommended,
      eqeqeq: "error",
      "no-implicit-globals": "error",
      "no-shadow": "error",
      "no-var": "error",
      "prefer-const": "error",
      "max-len": ["error", { code: 120 }],
    },
  },
];

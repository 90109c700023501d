import js from "@eslint/js";
import globals from "globals";

/** What a layer may not reach for. @param {string[]} folders */
const notFrom = (...folders) => ({
  "no-restricted-imports": [
    "error",
    {
      patterns: folders.map((name) => ({ group: [`**/${name}/**`], message: "This layer knows nothing of that one." })),
    },
  ],
});

const SCREENS = ["screens", "parts"];
const noPage = ["document", "window"].map((name) => ({ name, message: "Only the screens touch the page." }));

export default [
  { ignores: ["node_modules/"] },
  js.configs.recommended,
  {
    languageOptions: { ecmaVersion: 2024, sourceType: "module", globals: globals.browser },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      "no-unused-vars": ["error", { argsIgnorePattern: "^_", varsIgnorePattern: "^_" }],
      "no-restricted-properties": [
        "error",
        { property: "innerHTML" },
        { property: "outerHTML" },
        { property: "insertAdjacentHTML" },
      ],
      "no-restricted-syntax": ["error", { selector: "CallExpression[callee.name='eval']", message: "Never." }],
      "max-lines": ["error", { max: 300 }],
      "max-lines-per-function": ["error", { max: 60 }],
      complexity: ["error", 12],
      eqeqeq: "error",
      "no-console": "error",
      "no-var": "error",
      "prefer-const": "error",
    },
  },
  {
    files: ["app/book/**", "app/sync/**", "app/closure/**", "app/reconcile/**", "app/ready/**", "app/pairing/**"],
    rules: { ...notFrom(...SCREENS), "no-restricted-globals": ["error", ...noPage] },
  },
  // The pure core: no storage, no network, no clock of its own beyond the making of entries.
  {
    files: ["app/closure/**", "app/reconcile/**"],
    rules: notFrom(...SCREENS, "book", "sync", "ready"),
  },
  {
    files: ["app/book/{check,fold,merge,order,pointer,values,file}.js"],
    rules: {
      ...notFrom(...SCREENS, "sync"),
      "no-restricted-globals": ["error", ...noPage, "indexedDB", "fetch", "navigator"],
    },
  },
  // The one file that asks whether the page is seen.
  { files: ["app/sync/wake.js"], rules: { "no-restricted-globals": "off" } },
  { files: ["app/parts/**"], rules: notFrom("screens", "book", "sync") },
  {
    files: ["sw.js"],
    languageOptions: { sourceType: "script", globals: { ...globals.serviceworker, SET: "readonly" } },
  },
  { files: ["eslint.config.js"], languageOptions: { globals: globals.node } },
];

import tseslint from "typescript-eslint";

export default tseslint.config(
  { ignores: ["dist/", "reports/", ".stryker-tmp/", "coverage/", ".config/", "tests/bench-devices/*.mjs"] },
  ...tseslint.configs.strictTypeChecked,
  {
    languageOptions: { parserOptions: { projectService: true } },
    rules: {
      "@typescript-eslint/switch-exhaustiveness-check": "error",
      "@typescript-eslint/restrict-template-expressions": [
        "error",
        { allowNumber: true, allowBoolean: true },
      ],
    },
  },
);

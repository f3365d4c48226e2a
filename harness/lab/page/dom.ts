/**
 * How are elements found and made? Harness layer, page.
 */

/** The element with an id; it is in index.html. */
export function byId(id: string): HTMLElement {
  return kindById(id, HTMLElement);
}

/** The same, of a kind. */
export function kindById<T extends HTMLElement>(id: string, kind: new () => T): T {
  const element = document.getElementById(id);
  if (!(element instanceof kind)) throw new Error(`no ${kind.name} ${id}`);
  return element;
}

type Attributes = { readonly [name: string]: string };

/** An element with attributes and content; text is never read as markup. */
export function make<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...content: readonly (Node | string)[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...content);
  return element;
}

/** A plain button that does one thing. */
export function action(label: string, act: () => void): HTMLButtonElement {
  const button = make("button", { type: "button", class: "action" }, label);
  button.addEventListener("click", act);
  return button;
}

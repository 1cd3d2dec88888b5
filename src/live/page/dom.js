// Changing the page as little as possible: what stays is not set anew, for laying the page out again takes longer than the server.

export const byId = (id) => document.getElementById(id);

export function element(name, words, kind) {
  const made = document.createElement(name);
  if (words !== undefined) made.textContent = words;
  if (kind) made.className = kind;
  return made;
}

// Sets those properties of a node that are not so already.
export function set(node, properties) {
  for (const [name, value] of Object.entries(properties)) {
    if (node[name] !== value) node[name] = value;
  }
}

// Gives `home` these children, and leaves alone those it has already.
export function swap(home, parts) {
  const old = [...home.children], same = (k, j) => old[k].isEqualNode(parts[j]);
  const least = Math.min(old.length, parts.length);
  let first = 0, last = 0;
  while (first < least && same(first, first)) first += 1;
  while (last < least - first && same(old.length - 1 - last, parts.length - 1 - last)) last += 1;
  const gone = old.slice(first, old.length - last), after = old[old.length - last] ?? null;
  parts.slice(first, parts.length - last).forEach((part, k) => {
    if (!gone[k]) home.insertBefore(part, after);
    else if (!gone[k].isEqualNode(part)) become(gone[k], part);
  });
  gone.slice(Math.max(0, parts.length - last - first)).forEach((part) => part.remove());
}

// Makes a node what another one is, in its place where it can: a new element costs the page more than an old one that changes.
function become(node, part) {
  if (node.nodeName !== part.nodeName || node.childElementCount || part.childElementCount) {
    node.replaceWith(part);
    return;
  }
  for (const { name } of [...node.attributes]) if (!part.hasAttribute(name)) node.removeAttribute(name);
  for (const { name, value } of part.attributes) if (node.getAttribute(name) !== value) node.setAttribute(name, value);
  if (node.textContent !== part.textContent) node.textContent = part.textContent;
}

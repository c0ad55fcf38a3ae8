// Files dropped on the page or chosen: each is taken, or refused in words that say what to do.

import { setQuestion } from "./state.js";
import { ofFile } from "./saved.js";
import { postBytes } from "./wire.js";

/** The program takes no more at once (bytes). */
const MOST = 8 * 1024 * 1024;
const MOST_FILES = 64; // of a folder
const MOST_DEPTH = 3;

/** Files of a drop, those in folders with their path. */
export async function filesOf(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.some((entry) => entry.isDirectory)) return [...transfer.files].map((file) => ({ file, path: file.name }));
  const found = [];
  const walk = async (entry, path, depth) => {
    if (found.length >= MOST_FILES || depth > MOST_DEPTH) return;
    if (entry.isFile) {
      // of a package the page needs what it begins with
      if (/\.toml$/i.test(entry.name)) found.push({ file: await new Promise((resolve, reject) => entry.file(resolve, reject)), path });
      return;
    }
    const reader = entry.createReader();
    for (;;) {
      const some = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
      if (!some.length) return;
      for (const inner of some) await walk(inner, `${path}/${inner.name}`, depth + 1);
    }
  };
  for (const entry of entries) await walk(entry, entry.name, 0);
  if (!found.length) throw new Error(`${entries[0].name}: a folder without spring.toml or assembly.toml; drop a package folder, or a file`);
  return found;
}

/** Opens files: what came of them, in words. Refusals are thrown. */
export async function open(files, hooks) {
  const assembly = files.find(({ path }) => /(^|\/)assembly\.toml$/i.test(path));
  if (assembly) {
    await openAssembly(assembly, files, hooks);
    return;
  }
  // of a curve and its brief the brief comes first; of a package folder the spring at its top
  const rank = ({ path }) => [path.split("/").length, /(^|\/)spring\.toml$/i.test(path) ? 0 : 1, /\.toml$/i.test(path) ? 0 : 1];
  const order = [...files].sort((a, b) => rank(a).map((one, k) => one - rank(b)[k]).find((off) => off !== 0) ?? 0);
  const top = order[0]?.path.split("/").length;
  let [curve, brief] = [null, null];
  for (const { file, path } of order.filter(({ path: other }) => other.split("/").length === top)) {
    if (file.size > MOST) throw new Error(`${path}: ${Math.ceil(file.size / 1048576)} MB are more than the ${MOST / 1048576} MB this page takes; thin the table, ten thousand rows are plenty`);
    if (/\.json$/i.test(path)) {
      const text = await file.text();
      if (/"flatspire_page"/.test(text.slice(0, 2000))) {
        hooks.state(await ofFile(text, path));
        return;
      }
    }
    const opened = await postBytes(`/open?name=${encodeURIComponent(path)}`, file);
    if (opened.kind === "curve") curve = opened.curve;
    else if (opened.kind === "brief") brief = opened.brief;
    else if (opened.kind === "assembly") {
      await openAssembly({ file, path }, files, hooks);
      return;
    } else {
      hooks.spring(opened);
      return;
    }
  }
  setQuestion(curve, brief);
}

async function openAssembly({ file, path }, files, hooks) {
  const base = path.includes("/") ? path.slice(0, path.lastIndexOf("/") + 1) : "";
  const inside = files.filter((other) => other.path.startsWith(base) && /\/spring\.toml$/i.test(other.path));
  const text = await file.text();
  await postBytes(`/open?name=${encodeURIComponent(path)}`, file);
  const members = await Promise.all(inside.map(async (one) => ({ folder: one.path.slice(base.length, -"/spring.toml".length), text: await one.file.text() })));
  await hooks.assembly({ name: path, text, members });
}

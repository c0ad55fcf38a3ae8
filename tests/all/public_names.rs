//! The public names of the library: the list in `data/public_names.txt` is today's, and a name that goes or changes is told in
//! `data/changes.md`. `FLATSPIRE_WRITE_NAMES=1 cargo test --test all public_names` writes the list anew.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use syn::{ImplItem, Item, UseTree, Visibility};

const LIST: &str = "data/public_names.txt";
const CHANGES: &str = "data/changes.md";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn items(path: &Path) -> Vec<Item> {
    syn::parse_file(&fs::read_to_string(path).unwrap()).unwrap().items
}

fn is_public(visibility: &Visibility) -> bool {
    matches!(visibility, Visibility::Public(_))
}

/// Names that a `pub use` brings into a room.
fn used(tree: &UseTree, found: &mut BTreeSet<String>) {
    match tree {
        UseTree::Path(path) => used(&path.tree, found),
        UseTree::Name(name) => _ = found.insert(name.ident.to_string()),
        UseTree::Rename(rename) => _ = found.insert(rename.rename.to_string()),
        UseTree::Group(group) => group.items.iter().for_each(|tree| used(tree, found)),
        UseTree::Glob(_) => panic!("a room names what it shows"),
    }
}

/// File of a module declared in `folder`.
fn file(folder: &Path, module: &str) -> PathBuf {
    let flat = folder.join(format!("{module}.rs"));
    if flat.exists() { flat } else { folder.join(module).join("mod.rs") }
}

/// Names shown by a module: its public items, what it brings in, and those of its public modules.
fn shown(path: &Path, prefix: &str, all: &mut BTreeSet<String>) {
    let mut here = BTreeSet::new();
    for item in items(path) {
        let name = match &item {
            Item::Const(item) if is_public(&item.vis) => item.ident.to_string(),
            Item::Enum(item) if is_public(&item.vis) => item.ident.to_string(),
            Item::Fn(item) if is_public(&item.vis) => item.sig.ident.to_string(),
            Item::Struct(item) if is_public(&item.vis) => item.ident.to_string(),
            Item::Trait(item) if is_public(&item.vis) => item.ident.to_string(),
            Item::Type(item) if is_public(&item.vis) => item.ident.to_string(),
            Item::Use(item) if is_public(&item.vis) => {
                used(&item.tree, &mut here);
                continue;
            }
            Item::Mod(item) if is_public(&item.vis) => {
                let name = item.ident.to_string();
                let folder = if path.file_name().is_some_and(|name| name == "mod.rs" || name == "lib.rs") {
                    path.parent().unwrap().to_owned()
                } else {
                    path.with_extension("")
                };
                let below = if prefix.is_empty() { name.clone() } else { format!("{prefix}::{name}") };
                shown(&file(&folder, &name), &below, all);
                continue;
            }
            _ => continue,
        };
        here.insert(name);
    }
    all.extend(here.into_iter().map(|name| format!("{prefix}::{name}")));
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Public functions of the types that are shown, as `room::Type::function`.
fn functions(room: &str, types: &BTreeSet<String>, all: &mut BTreeSet<String>) {
    let mut files = Vec::new();
    let folder = root().join("src").join(room);
    if folder.is_dir() {
        rust_files(&folder, &mut files);
    } else {
        files.push(folder.with_extension("rs"));
    }
    for block in files.iter().flat_map(|path| items(path)) {
        let Item::Impl(block) = block else { continue };
        let (None, syn::Type::Path(kind)) = (&block.trait_, &*block.self_ty) else { continue };
        let name = format!("{room}::{}", kind.path.segments.last().unwrap().ident);
        if !types.contains(&name) {
            continue;
        }
        all.extend(block.items.iter().filter_map(|item| match item {
            ImplItem::Fn(function) if is_public(&function.vis) => {
                Some(format!("{name}::{}", function.sig.ident))
            }
            _ => None,
        }));
    }
}

fn today() -> BTreeSet<String> {
    let mut types = BTreeSet::new();
    shown(&root().join("src/lib.rs"), "", &mut types);
    let mut all = types.clone();
    for room in fs::read_dir(root().join("src")).unwrap() {
        let room = room.unwrap().file_name().into_string().unwrap();
        if !matches!(room.as_str(), "lib.rs" | "main.rs") {
            functions(room.trim_end_matches(".rs"), &types, &mut all);
        }
    }
    // the command line is a program, not a library
    all.retain(|name| !name.starts_with("cli::") && !name.starts_with("::"));
    all
}

#[test]
fn public_names_are_those_of_the_list_and_changes_are_told() {
    let today = today();
    assert!(today.contains("pipeline::answer") && today.contains("curve::TargetCurve::points"), "{today:?}");
    let listed: BTreeSet<String> =
        fs::read_to_string(root().join(LIST)).unwrap_or_default().lines().map(str::to_owned).collect();
    let changes = fs::read_to_string(root().join(CHANGES)).unwrap();
    let gone: Vec<&String> =
        listed.difference(&today).filter(|name| !changes.contains(name.as_str())).collect();
    assert!(gone.is_empty(), "gone or renamed, and not told in {CHANGES}: {gone:#?}");
    if std::env::var_os("FLATSPIRE_WRITE_NAMES").is_some() {
        let lines: Vec<&str> = today.iter().map(String::as_str).collect();
        fs::write(root().join(LIST), lines.join("\n") + "\n").unwrap();
        return;
    }
    let new: Vec<&String> = today.difference(&listed).collect();
    let advice = "FLATSPIRE_WRITE_NAMES=1 cargo test --test all public_names";
    assert!(today == listed, "{LIST} is not today's, write it anew: {advice}\nnew: {new:#?}");
}

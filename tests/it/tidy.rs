//! The house stays in order: ranks, listed test files, paths and commands in the docs.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The rank of each top module; a module uses its own rank or lower ones.
const RANKS: &[(&str, u8)] = &[
    ("units", 0),
    ("size", 0),
    ("stage", 0),
    ("problem", 0),
    ("yaml", 1),
    ("order", 1),
    ("studio", 1),
    ("forecast", 1),
    ("promise", 1),
    ("intake", 1),
    ("stock", 1),
    ("light", 2),
    ("experience", 2),
    ("exposing", 2),
    ("review", 2),
    ("climate", 2),
    ("window", 2),
    ("mix", 2),
    ("coverage", 2),
    ("dry", 2),
    ("keeping", 2),
    ("capacity", 2),
    ("plan", 2),
    ("spare", 2),
    ("supply", 2),
    ("notice", 2),
    ("odds", 2),
    ("view", 3),
    ("letter", 3),
    ("outside", 4),
    ("cli", 5),
    ("main", 5),
];

/// Calls that only ranks 4 and 5 may make.
const OUTSIDE_ONLY: &[&str] = &[
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "SystemTime",
    "Instant::now",
    "Utc::now",
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn sources() -> Vec<(String, String)> {
    let src = root().join("src");
    let mut files = Vec::new();
    rust_files(&src, &mut files);
    let name = |path: &PathBuf| {
        path.strip_prefix(&src)
            .unwrap()
            .to_string_lossy()
            .into_owned()
    };
    files
        .iter()
        .map(|path| (name(path), fs::read_to_string(path).unwrap()))
        .collect()
}

fn rank_of(module: &str) -> Option<u8> {
    RANKS
        .iter()
        .find(|(name, _)| *name == module)
        .map(|(_, rank)| *rank)
}

fn top_module(file: &str) -> &str {
    file.split(['/', '.']).next().unwrap()
}

/// Names of top modules that a file reaches for with `crate::`.
fn reached_for(text: &str) -> BTreeSet<&str> {
    let code = text.split("#[cfg(test)]").next().unwrap();
    let uses = code
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"));
    let mut found = BTreeSet::new();
    for line in uses {
        for (index, mark) in line.match_indices("crate::") {
            let rest = &line[index + mark.len()..];
            let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
            found.insert(&rest[..end.unwrap_or(rest.len())]);
        }
    }
    found.remove("");
    found
}

#[test]
fn every_module_uses_only_its_own_rank_or_lower_ones() {
    let mut wrong = Vec::new();
    for (file, text) in sources() {
        let module = top_module(&file);
        if module == "lib" {
            continue;
        }
        let Some(rank) = rank_of(module) else {
            wrong.push(format!(
                "src/{file}: `{module}` has no rank; add it to RANKS"
            ));
            continue;
        };
        for used in reached_for(&text) {
            match rank_of(used) {
                Some(below) if below <= rank => {}
                Some(_) => wrong.push(format!("src/{file} reaches up to `{used}`")),
                None => wrong.push(format!("src/{file} uses `{used}`, which has no rank")),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The table for contributors says of each module the rank that is held here.
#[test]
fn the_docs_know_the_ranks() {
    let docs = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let rows = docs.lines().filter_map(|line| {
        let cells: Vec<&str> = line.strip_prefix("| ")?.split(" | ").collect();
        let rank: u8 = cells.first()?.split(' ').next()?.parse().ok()?;
        (rank <= 5).then_some((rank, cells.get(1)?.to_owned()))
    });
    let mut told = BTreeSet::new();
    for (rank, modules) in rows {
        let names = modules.split('`').skip(1).step_by(2);
        told.extend(names.map(|name| (name.to_owned(), rank)));
    }
    let held: BTreeSet<(String, u8)> = RANKS
        .iter()
        .map(|(name, rank)| ((*name).to_owned(), *rank))
        .collect();
    assert_eq!(told, held);
}

#[test]
fn the_inner_ranks_touch_no_disk_clock_or_network() {
    let mut wrong = Vec::new();
    for (file, text) in sources() {
        let inner = rank_of(top_module(&file)).is_some_and(|rank| rank < 4);
        let code = text.split("#[cfg(test)]").next().unwrap();
        let lines = code
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"));
        for line in lines.filter(|_| inner) {
            for call in OUTSIDE_ONLY.iter().filter(|call| line.contains(**call)) {
                wrong.push(format!("src/{file}: `{call}` in `{}`", line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_audit_shares_nothing_with_the_search() {
    for (file, text) in sources()
        .iter()
        .filter(|(file, _)| file.starts_with("plan/audit"))
    {
        assert!(!text.contains("search::"), "src/{file} uses the search");
    }
    for (file, text) in sources()
        .iter()
        .filter(|(file, _)| file.starts_with("plan/search"))
    {
        assert!(!text.contains("audit::"), "src/{file} uses the audit");
    }
}

#[test]
fn every_test_file_is_part_of_the_program() {
    let folder = root().join("tests/it");
    let main = fs::read_to_string(folder.join("main.rs")).unwrap();
    let mut files = Vec::new();
    rust_files(&folder, &mut files);
    for path in files.iter().filter(|path| path.parent() == Some(&folder)) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let listed = main.contains(&format!("mod {name};"));
        assert!(
            listed || name == "main",
            "tests/it/{name}.rs is not listed in main.rs"
        );
    }
}

/// Paths in backticks that look like files of this repository.
fn paths_in(text: &str) -> Vec<&str> {
    let starts = ["src/", "tests/", "templates/", "orders/", ".ci/"];
    let quoted = text.split('`').skip(1).step_by(2);
    quoted
        .filter(|word| starts.iter().any(|start| word.starts_with(start)))
        .filter(|word| !word.contains(['*', ' ', '<', '{', '…']))
        .collect()
}

#[test]
fn every_path_in_the_docs_exists() {
    for doc in ["README.md", "DEVELOPERS.md", "tests/reference/README.md"] {
        let text = fs::read_to_string(root().join(doc)).unwrap();
        for path in paths_in(&text) {
            assert!(
                root().join(path).exists(),
                "{doc} names `{path}`, which does not exist"
            );
        }
    }
}

#[test]
fn every_dependency_is_explained() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let docs = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let mut inside = false;
    for line in manifest.lines() {
        if line.starts_with('[') {
            inside = line.ends_with("dependencies]");
        } else if let Some((name, _)) = line.split_once(" = ").filter(|_| inside) {
            assert!(
                docs.contains(&format!("| `{name}` |")),
                "DEVELOPERS.md is silent on `{name}`"
            );
        }
    }
}

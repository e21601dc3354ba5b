//! Build script: gathers `rules/**/*.yaml` into the program.
//!
//! Every file goes in twice: as it is written (for places in messages and for edits) and as JSON, which the
//! program reads many times faster than YAML at start-up. A file that is not YAML goes in without JSON; the
//! program then reads it the slow way and says what is wrong with it, and a test refuses such a book.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() {
    println!("cargo:rerun-if-changed=rules");
    println!("cargo:rerun-if-changed=src/build.rs");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR"));
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    let rules = root.join("rules");
    let mut files = Vec::new();
    gather(&rules, &mut files).expect("the folder `rules` can be read");
    files.sort();
    let mut table = String::from("&[\n");
    for (number, file) in files.iter().enumerate() {
        let path =
            file.strip_prefix(&rules).expect("gathered below rules").to_string_lossy().replace('\\', "/");
        let json = match fs::read_to_string(file).map_err(|e| e.to_string()).and_then(|text| as_json(&text)) {
            Ok(json) => json,
            Err(why) => {
                println!("cargo:warning=rules/{path}: {why}");
                String::new()
            }
        };
        fs::write(out.join(format!("{number}.json")), json).expect("OUT_DIR can be written");
        writeln!(
            table,
            "    ShippedFile {{ path: {path:?}, yaml: include_str!(concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/rules/{path}\")), \
             json: include_str!(concat!(env!(\"OUT_DIR\"), \"/{number}.json\")) }},"
        )
        .expect("a String takes every write");
    }
    table.push_str("]\n");
    fs::write(out.join("shipped.rs"), table).expect("OUT_DIR can be written");
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            gather(&path, files)?;
        } else if path.extension().is_some_and(|e| e == "yaml") {
            files.push(path);
        }
    }
    Ok(())
}

fn as_json(yaml: &str) -> Result<String, String> {
    let value: serde_yaml::Value = serde_yaml::from_str(yaml).map_err(|e| e.to_string())?;
    serde_json::to_string(&value).map_err(|e| e.to_string())
}

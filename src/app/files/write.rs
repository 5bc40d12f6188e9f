//! Results to disk, whole or not at all.

use anyhow::{Result, anyhow};
use std::ffi::OsString;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Writes a file through a temporary one beside it, so that no half-written file is ever met under its name.
///
/// # Errors
///
/// If the folder does not exist or cannot be written to; the temporary file is then gone again.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<()> {
    let beside = temporary_beside(path);
    let written = fs::File::create(&beside)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        // Whether or not it came into being, nothing more can be done about it.
        let _ = fs::remove_file(&beside);
    }
    written.map_err(|problem| unwritten("file", &problem, path))
}

/// Writes a file that must not be there yet.
///
/// # Errors
///
/// If it is there, or the folder does not exist or cannot be written to.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<()> {
    let mut file = fs::File::create_new(path).map_err(|problem| match problem.kind() {
        io::ErrorKind::AlreadyExists => anyhow!(
            "there is a file of that name already; choose another: {}",
            path.display()
        ),
        _ => unwritten("file", &problem, path),
    })?;
    let written = file.write_all(bytes).and_then(|()| file.sync_all());
    if written.is_err() {
        // It is ours, and of no use to anyone.
        let _ = fs::remove_file(path);
    }
    written.map_err(|problem| unwritten("file", &problem, path))
}

/// Makes a folder for results, and those it lies in, unless it is there.
///
/// # Errors
///
/// If there is a file of that name, or the disk takes none.
pub fn make_folder(path: &Path) -> Result<()> {
    fs::create_dir_all(path).map_err(|problem| unwritten("folder", &problem, path))
}

/// What kept a file or folder from being written, and what to do about it.
fn unwritten(what: &str, problem: &io::Error, path: &Path) -> anyhow::Error {
    let and_now = match problem.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "there is no room left on the disk; make room or name another place, then try again"
        }
        io::ErrorKind::NotFound => {
            "there is no such folder to put it into; make it or check the name"
        }
        io::ErrorKind::NotADirectory | io::ErrorKind::AlreadyExists => {
            "a folder was expected where a file is; name another place"
        }
        io::ErrorKind::IsADirectory | io::ErrorKind::DirectoryNotEmpty => {
            "there is a folder of that name; choose another name"
        }
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "nothing may be written there; name another place"
        }
        io::ErrorKind::InvalidFilename => {
            "the name cannot be used here; choose another, shorter one"
        }
        _ => {
            return anyhow!(
                "the {what} cannot be written, for the system says \"{problem}\"; try again or name another place: {}",
                path.display()
            );
        }
    };
    anyhow!(
        "the {what} cannot be written: {and_now}: {}",
        path.display()
    )
}

/// A name no other writer has: not even one of the same file, for two equal photos are remembered under one name.
fn temporary_beside(path: &Path) -> PathBuf {
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}-{number}.part", std::process::id()));
    path.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("sixfold-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        folder
    }

    #[test]
    fn a_file_is_replaced_and_nothing_else_stays() {
        let folder = folder("write");
        let path = folder.join("net.svg");
        write_whole(&path, b"old").unwrap();
        write_whole(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(folder).unwrap();
    }

    /// As when one photo lies in a lesson's folder twice: whoever comes last has it, and nobody is refused.
    #[test]
    fn one_file_is_written_by_many_at_once() {
        let folder = folder("many");
        let path = folder.join("face.json");
        let writer = || (0..200).try_for_each(|_| write_whole(&path, &[7; 5000]));
        std::thread::scope(|scope| {
            let writers: Vec<_> = (0..4).map(|_| scope.spawn(writer)).collect();
            for writer in writers {
                writer.join().unwrap().unwrap();
            }
        });
        assert_eq!(fs::read(&path).unwrap(), [7; 5000]);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_is_there_is_left_alone() {
        let folder = folder("new");
        let path = folder.join("cube.json");
        write_new(&path, b"old").unwrap();
        let problem = write_new(&path, b"new").unwrap_err();
        assert!(problem.to_string().contains("already"), "{problem}");
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert!(write_new(&folder.join("no/cube.json"), b"new").is_err());
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn what_kept_a_file_from_being_written_is_told() {
        let folder = folder("untold");
        let check = |problem: Result<()>, words: &str, path: &Path| {
            let told = problem.unwrap_err().to_string();
            assert!(told.contains(words), "{told}");
            assert!(told.ends_with(&path.display().to_string()), "{told}");
            assert!(!told.contains("os error"), "{told}");
        };
        let file = folder.join("notes.txt");
        write_whole(&file, b"notes").unwrap();
        let inside = file.join("net.svg");
        check(write_whole(&inside, b"new"), "where a file is", &inside);
        check(make_folder(&file), "where a file is", &file);
        let nowhere = folder.join("no/net.svg");
        check(write_whole(&nowhere, b"new"), "no such folder", &nowhere);
        check(write_new(&nowhere, b"new"), "no such folder", &nowhere);
        check(
            write_whole(&folder, b"new"),
            "a folder of that name",
            &folder,
        );
        let full = unwritten("file", &io::ErrorKind::StorageFull.into(), &file);
        check(Err(full), "make room or name another place", &file);
        fs::remove_dir_all(folder).unwrap();
    }

    #[test]
    fn a_name_that_is_a_folder_leaves_nothing_behind() {
        let folder = folder("blocked");
        let taken = folder.join("taken");
        fs::create_dir_all(taken.join("inside")).unwrap();
        let problem = write_whole(&taken, b"new").unwrap_err();
        assert!(problem.to_string().ends_with("taken"));
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(folder).unwrap();
    }
}

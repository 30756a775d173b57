//! Reading whole files, and writing them beside their place before they get their name.

use crate::failure::Failure;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use study::{FileError, Files};

/// Largest file that is read, bytes.
const LARGEST: u64 = 2 << 30;

/// Bytes of a file that the call names.
///
/// # Errors
/// The file is not there, cannot be read, or is no file.
pub fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    let shown = path.display();
    let wrong = |what: String, remedy: &str| {
        Failure::call(format!("{shown}: {what}"), "a file that can be read", remedy)
    };
    let about = std::fs::metadata(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => wrong("there is no such file".to_owned(), "check the path"),
        _ => wrong(reason(&error), "check the path and its permissions"),
    })?;
    if about.is_dir() {
        return Err(wrong("this is a folder".to_owned(), "name a file in it"));
    }
    if about.len() > LARGEST {
        let what = format!("the file has {} bytes, more than {LARGEST}", about.len());
        return Err(wrong(what, "export it coarser"));
    }
    std::fs::read(path).map_err(|error| wrong(reason(&error), "check its permissions"))
}

/// Writes a file: first beside its place, then under its name, so that it is never half there.
///
/// # Errors
/// The folder cannot be made or written to.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |error: io::Error| {
        let message = format!("{} cannot be written: {}", path.display(), reason(&error));
        Failure::other(message, "check the folder, its permissions and the free space")
    };
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let beside = beside(path);
    let written = write_and_sync(&beside, bytes).and_then(|()| std::fs::rename(&beside, path));
    written.map_err(|error| {
        // the half-written file is of no use; that it may already be gone does not matter
        let _ = std::fs::remove_file(&beside);
        failed(error)
    })
}

fn write_and_sync(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = std::fs::File::create(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn beside(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

/// What an error of the system says, in its own words without the number.
fn reason(error: &io::Error) -> String {
    let text = error.to_string();
    text.split(" (os error").next().unwrap_or(&text).to_lowercase()
}

/// The files in a study's folder.
#[derive(Debug, Clone)]
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// The folder in which a study file stands.
    pub fn of(study_file: &Path) -> Self {
        Self { path: study_file.parent().map(Path::to_path_buf).unwrap_or_default() }
    }

    /// The path that a user would have to type for a file that the study names; another name stays.
    pub fn typed(&self, path: &str) -> String {
        let joined = self.join(path);
        if joined.is_file() { joined.display().to_string() } else { path.to_owned() }
    }

    /// A path of the study, from where the program stands.
    pub fn join(&self, path: &str) -> PathBuf {
        self.path.join(path)
    }
}

impl Files for Folder {
    fn bytes(&self, path: &str) -> Result<Option<Vec<u8>>, FileError> {
        match std::fs::read(self.join(path)) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(error) => Err(FileError { reason: reason(&error) }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_there_whole_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/out.csv");
        write(&path, b"a,b\n").unwrap();
        assert_eq!(read(&path).unwrap(), b"a,b\n");
        let left: Vec<_> = std::fs::read_dir(path.parent().unwrap()).unwrap().collect();
        assert_eq!(left.len(), 1, "nothing else is left beside it");
        let blocked = write(&path.join("below-a-file"), b"").unwrap_err();
        assert_eq!(blocked.exit_status(), 1);
    }

    #[test]
    fn a_missing_file_and_a_folder_are_wrong_calls() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(read(folder.path()).unwrap_err().exit_status(), 2);
        assert_eq!(read(&folder.path().join("none")).unwrap_err().exit_status(), 2);
    }
}

//! How the readers reach the files that a study names, without opening any themselves.

/// Why a file that is there cannot be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileError {
    /// The reason in words: `permission denied`.
    pub reason: String,
}

/// The files beside a study file.
pub trait Files {
    /// Bytes of the file of that path, relative to the study file; `None` if there is none.
    ///
    /// # Errors
    /// The file is there but cannot be read.
    fn bytes(&self, path: &str) -> Result<Option<Vec<u8>>, FileError>;
}

/// No companions at all.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoFiles;

impl Files for NoFiles {
    fn bytes(&self, _path: &str) -> Result<Option<Vec<u8>>, FileError> {
        Ok(None)
    }
}

impl<F: Fn(&str) -> Option<Vec<u8>>> Files for F {
    fn bytes(&self, path: &str) -> Result<Option<Vec<u8>>, FileError> {
        Ok(self(path))
    }
}

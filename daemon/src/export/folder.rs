//! The folder an export is made in.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::{Disguise, ExportError};
use crate::output::{Existing, OutputError, Resumable};
use crate::store::records::VisitRecord;

/// The file with the checksum of every other.
pub const CHECKSUMS: &str = "SHA256SUMS";

/// An export in the making.
#[derive(Debug)]
pub struct Folder {
    folder: Resumable,
    seed: String,
}

/// What an export came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Size {
    /// Files in it.
    pub files: usize,
    /// Their bytes together.
    pub bytes: u64,
}

impl Folder {
    /// Begins an export, or goes on with one that was interrupted, if it was of the same `records`
    /// and `wishes`.
    ///
    /// # Errors
    /// When the place is taken, or the system refuses.
    pub fn open(
        path: &Path,
        existing: Existing,
        records: &[VisitRecord],
        wishes: &str,
    ) -> Result<Self, ExportError> {
        // Whatever is changed in what leaves, or in what makes it, begins anew.
        let mut hash = Sha256::new();
        hash.update(format!("{} {wishes} {records:?}", super::readme::PROGRAM));
        let purpose = hex(&hash.finalize());
        let fresh = Disguise::draw_seed()?;
        let folder = Resumable::open(path, existing, &purpose, || fresh)?;
        let seed = folder.remembered().to_owned();
        Ok(Self { folder, seed })
    }

    /// What its codes are drawn from.
    #[must_use]
    pub fn seed(&self) -> &str {
        &self.seed
    }

    /// Whether it goes on with one that was interrupted.
    #[must_use]
    pub const fn resumed(&self) -> bool {
        self.folder.resumed()
    }

    /// Makes one file, unless an interrupted run has made it.
    ///
    /// # Errors
    /// What `fill` answers, with the file's path where it could not be written.
    pub fn write(
        &self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> Result<(), ExportError>,
    ) -> Result<(), ExportError> {
        if self.folder.has(name) {
            return Ok(());
        }
        let mut file = self.folder.begin(name)?;
        match fill(&mut file) {
            Ok(()) => Ok(file.commit()?),
            Err(ExportError::Io(source)) => {
                let path = file.path().to_owned();
                Err(OutputError::Io { path, what: "cannot be written", source }.into())
            }
            Err(other) => Err(other),
        }
    }

    /// Makes one file of a text.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn text(&self, name: &str, text: &str) -> Result<(), ExportError> {
        self.write(name, |out| Ok(out.write_all(text.as_bytes())?))
    }

    /// Size and checksum of a file that was made.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn checksum(&self, name: &str) -> Result<(u64, String), ExportError> {
        let path = self.folder.path(name);
        let unread = |source| OutputError::Io { path, what: "cannot be read back", source };
        Ok(checksum(&self.folder.path(name)).map_err(unread)?)
    }

    /// Adds the checksums and puts the folder in its place.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn finish(self) -> Result<Size, ExportError> {
        let mut size = Size::default();
        let mut lines = String::new();
        for name in self.folder.names()?.iter().filter(|name| *name != CHECKSUMS) {
            let (bytes, sum) = self.checksum(name)?;
            size.files += 1;
            size.bytes += bytes;
            lines.push_str(&format!("{sum}  {name}\n"));
        }
        size.files += 1;
        size.bytes += lines.len() as u64;
        self.text(CHECKSUMS, &lines)?;
        self.folder.finish()?;
        Ok(size)
    }
}

fn checksum(path: &Path) -> io::Result<(u64, String)> {
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    let mut bytes = 0;
    loop {
        let read = file.read(&mut buffer)?;
        if read == 0 {
            return Ok((bytes, hex(&hash.finalize())));
        }
        bytes += read as u64;
        hash.update(buffer.get(..read).unwrap_or_default());
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

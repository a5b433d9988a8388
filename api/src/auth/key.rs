//! The key that signs access tokens: made on the first start, or configured.

use super::fingerprint::Fingerprints;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use ed25519_dalek::Signer;
use ed25519_dalek::pkcs8::{DecodePrivateKey, EncodePrivateKey, spki::der::pem::LineEnding};
use sha2::{Digest, Sha256};
use std::fmt;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use uuid::Uuid;

pub struct SigningKey(ed25519_dalek::SigningKey);

#[derive(Debug, thiserror::Error)]
pub enum KeyError {
    #[error("the signing key {path} cannot be read or written: {cause}", path = .path.display())]
    File { path: PathBuf, cause: io::Error },
    #[error("{path} holds no Ed25519 private key in PKCS#8 PEM ({cause}); make one with `openssl genpkey -algorithm ed25519`", path = .path.display())]
    NotAKey { path: PathBuf, cause: String },
    #[error("{path} can be read by others (mode {mode:o}); set it to 600", path = .path.display())]
    OpenToOthers { path: PathBuf, mode: u32 },
}

impl SigningKey {
    pub fn random() -> Self {
        Self::from_bytes(&rand::random())
    }

    pub fn from_bytes(secret: &[u8; 32]) -> Self {
        Self(ed25519_dalek::SigningKey::from_bytes(secret))
    }

    /// Reads the key, or makes it if there is none. Two processes that start at once end up with the same one.
    pub fn load_or_create(path: &Path) -> Result<Self, KeyError> {
        match Self::load(path) {
            Err(KeyError::File { cause, .. }) if cause.kind() == io::ErrorKind::NotFound => {}
            other => return other,
        }
        let failed = |cause| KeyError::File {
            path: path.to_owned(),
            cause,
        };
        let pem = Self::random()
            .0
            .to_pkcs8_pem(LineEnding::LF)
            .map_err(|error| KeyError::NotAKey {
                path: path.to_owned(),
                cause: error.to_string(),
            })?;
        let draft = path.with_extension(format!("{}.draft", Uuid::new_v4()));
        write_private(&draft, pem.as_bytes()).map_err(failed)?;
        // A link is made only if nothing is there yet, and the file appears whole.
        let linked = fs::hard_link(&draft, path);
        fs::remove_file(&draft).map_err(failed)?;
        match linked {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(failed(error)),
            _ => Self::load(path),
        }
    }

    pub fn load(path: &Path) -> Result<Self, KeyError> {
        let failed = |cause| KeyError::File {
            path: path.to_owned(),
            cause,
        };
        refuse_if_open_to_others(path)?;
        let pem = fs::read_to_string(path).map_err(failed)?;
        ed25519_dalek::SigningKey::from_pkcs8_pem(&pem)
            .map(Self)
            .map_err(|error| KeyError::NotAKey {
                path: path.to_owned(),
                cause: error.to_string(),
            })
    }

    /// Ed25519 over the message itself.
    pub fn sign(&self, message: &[u8]) -> [u8; 64] {
        self.0.sign(message).to_bytes()
    }

    /// One of its own: what is signed for others and what is known only here never come of the same secret.
    pub fn fingerprints(&self) -> Fingerprints {
        const PURPOSE: &[u8] = b"spindlebook fingerprints of commands 1";
        Fingerprints::new(&Fingerprints::new(self.0.as_bytes()).of(&[PURPOSE]))
    }

    /// What is known only here and stands in no database: without it nobody finds a PIN by trying all of them.
    pub fn pin_pepper(&self) -> Fingerprints {
        const PURPOSE: &[u8] = b"spindlebook PINs for tablets 1";
        Fingerprints::new(&Fingerprints::new(self.0.as_bytes()).of(&[PURPOSE]))
    }

    pub fn public_key(&self) -> PublicKey {
        PublicKey(self.public_bytes())
    }

    pub(super) fn public_bytes(&self) -> [u8; 32] {
        self.0.verifying_key().to_bytes()
    }

    pub(super) fn pkcs8_der(&self) -> Result<Vec<u8>, String> {
        self.0
            .to_pkcs8_der()
            .map(|der| der.as_bytes().to_vec())
            .map_err(|error| error.to_string())
    }

    /// The key's thumbprint (RFC 7638, RFC 8037).
    pub fn id(&self) -> String {
        let x = URL_SAFE_NO_PAD.encode(self.public_bytes());
        URL_SAFE_NO_PAD.encode(Sha256::digest(format!(
            r#"{{"crv":"Ed25519","kty":"OKP","x":"{x}"}}"#
        )))
    }
}

/// Anybody may know it: with it others check what was signed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PublicKey(pub [u8; 32]);

impl PublicKey {
    /// Strict: small-order keys and signatures that other checkers would read differently are none.
    pub fn has_signed(&self, message: &[u8], signature: &[u8; 64]) -> bool {
        let signature = ed25519_dalek::Signature::from_bytes(signature);
        ed25519_dalek::VerifyingKey::from_bytes(&self.0)
            .is_ok_and(|key| key.verify_strict(message, &signature).is_ok())
    }
}

impl fmt::Debug for SigningKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SigningKey({})", self.id())
    }
}

#[cfg(unix)]
fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    use std::os::unix::fs::OpenOptionsExt;
    let mut file = fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .mode(0o600)
        .open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(not(unix))]
fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

#[cfg(unix)]
fn refuse_if_open_to_others(path: &Path) -> Result<(), KeyError> {
    use std::os::unix::fs::PermissionsExt;
    let metadata = fs::metadata(path).map_err(|cause| KeyError::File {
        path: path.to_owned(),
        cause,
    })?;
    let mode = metadata.permissions().mode() & 0o777;
    if mode & 0o077 != 0 {
        return Err(KeyError::OpenToOthers {
            path: path.to_owned(),
            mode,
        });
    }
    Ok(())
}

#[cfg(not(unix))]
fn refuse_if_open_to_others(_: &Path) -> Result<(), KeyError> {
    Ok(())
}

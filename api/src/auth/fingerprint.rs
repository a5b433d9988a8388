//! What is kept of a request to tell whether it comes again.

use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use std::fmt;

/// Makes fingerprints that only this service can make: a plain hash of a body would let whoever reads the ledger or the
/// database guess names and passwords and see whether they guessed right.
///
/// Its secret comes of the signing key. That one is no part of the database and of its backups, and all processes of a
/// database have the same one: each takes the tokens of the others. With a new signing key a command that is sent
/// again with the key of one before counts as another one (422).
#[derive(Clone)]
pub struct Fingerprints(Hmac<Sha256>);

impl Fingerprints {
    pub fn new(secret: &[u8; 32]) -> Self {
        Self::keyed(secret)
    }

    /// A short key counts as if zeros followed it (RFC 2104, section 2), up to the block of the hash.
    fn keyed<const N: usize>(key: &[u8; N]) -> Self {
        const { assert!(N <= 64) };
        let mut block = [0; 64];
        block[..N].copy_from_slice(key);
        Self(Hmac::new(&block.into()))
    }

    /// Each part with its length: the end of one cannot pass for the beginning of the next.
    pub fn of(&self, parts: &[&[u8]]) -> [u8; 32] {
        let mut mac = self.0.clone();
        for part in parts {
            mac.update(&(part.len() as u64).to_be_bytes());
            mac.update(part);
        }
        mac.finalize().into_bytes().into()
    }
}

impl fmt::Debug for Fingerprints {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Fingerprints").finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // RFC 4231, section 4.3 (test case 2).
    #[test]
    fn it_is_hmac_sha_256() {
        let Fingerprints(mut mac) = Fingerprints::keyed(b"Jefe");
        mac.update(b"what do ya want for nothing?");
        assert_eq!(
            hex::encode(mac.finalize().into_bytes()),
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
        );
    }

    #[test]
    fn another_secret_or_another_cut_is_another_fingerprint() {
        let of = |secret: u8, parts: &[&[u8]]| Fingerprints::new(&[secret; 32]).of(parts);
        let one = of(1, &[b"ab", b"c"]);
        assert_eq!(one, of(1, &[b"ab", b"c"]));
        assert_ne!(one, of(2, &[b"ab", b"c"]));
        assert_ne!(one, of(1, &[b"a", b"bc"]));
        assert_ne!(one, of(1, &[b"abc"]));
    }
}

//! Passwords: hashed slowly, refused when the world knows them.

use super::login::Login;
use super::secret::Secret;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use std::sync::Arc;
use tokio::sync::Semaphore;

pub const PASSWORD_CHARS_MIN: usize = 8;
/// So that nobody lets the service hash novels.
pub const PASSWORD_CHARS_MAX: usize = 1_024;
/// Each takes 19 MiB and a core: more at once would only slow one another down.
const HASHING_AT_ONCE: usize = 4;

/// The commonest passwords, without what people put before and behind them. From memory.
const COMMON: &str = include_str!("common_passwords.txt");

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PasswordCost {
    pub memory_kib: u32,
    pub passes: u32,
}

impl Default for PasswordCost {
    /// Argon2id with 19 MiB and two passes: the smallest setting of OWASP's password storage advice.
    fn default() -> Self {
        Self {
            memory_kib: 19 * 1_024,
            passes: 2,
        }
    }
}

#[derive(Clone)]
pub struct Passwords {
    argon: Argon2<'static>,
    turns: Arc<Semaphore>,
    /// Verified when there is no such login, so that an answer takes as long as for one that exists.
    nobodys: Arc<str>,
}

impl Passwords {
    pub fn new(cost: PasswordCost) -> Result<Self, String> {
        let params = Params::new(cost.memory_kib, cost.passes, 1, None).map_err(|error| error.to_string())?;
        let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let nobodys = hash_with(&argon, Secret::random().reveal())?;
        Ok(Self {
            argon,
            turns: Arc::new(Semaphore::new(HASHING_AT_ONCE)),
            nobodys: nobodys.into(),
        })
    }

    /// A PHC string with a salt of its own.
    pub async fn hash(&self, password: Secret) -> Result<String, String> {
        let argon = self.argon.clone();
        self.blocking(move || hash_with(&argon, password.reveal()))
            .await?
    }

    /// `None`: there is no such login, or it has no password. That takes as long as any other answer.
    pub async fn verify(&self, password: Secret, hash: Option<String>) -> Result<bool, String> {
        let argon = self.argon.clone();
        let exists = hash.is_some();
        let hash = hash.unwrap_or_else(|| self.nobodys.to_string());
        let matches = self
            .blocking(move || {
                argon
                    .verify_password(password.reveal().as_bytes(), hash.as_str())
                    .is_ok()
            })
            .await?;
        Ok(matches && exists)
    }

    /// For the command line, which waits for nothing else.
    pub fn hash_now(&self, password: &Secret) -> Result<String, String> {
        hash_with(&self.argon, password.reveal())
    }

    async fn blocking<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, String> {
        let turn = self.turns.acquire().await.map_err(|error| error.to_string())?;
        let done = tokio::task::spawn_blocking(work).await;
        drop(turn);
        done.map_err(|error| error.to_string())
    }
}

fn hash_with(argon: &Argon2<'static>, password: &str) -> Result<String, String> {
    argon
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(|error| error.to_string())
}

/// Why a new password is refused. Any characters are welcome, and no rule asks for a certain kind of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WeakPassword {
    #[error(
        "it has fewer than {PASSWORD_CHARS_MIN} characters; take at least {PASSWORD_CHARS_MIN}, better 15"
    )]
    TooShort,
    #[error("it has more than {PASSWORD_CHARS_MAX} characters")]
    TooLong,
    #[error(
        "it is one of the passwords that are tried first; take several words that do not belong together"
    )]
    Common,
    #[error(
        "it is made of the login or the name of the site; take several words that do not belong together"
    )]
    Obvious,
}

/// `site_words`: code and name of the site.
pub fn check_new(password: &Secret, login: &Login, site_words: &[&str]) -> Result<(), WeakPassword> {
    let chars = password.reveal().chars().count();
    if chars < PASSWORD_CHARS_MIN {
        return Err(WeakPassword::TooShort);
    }
    if chars > PASSWORD_CHARS_MAX {
        return Err(WeakPassword::TooLong);
    }
    let whole = password.reveal().to_lowercase();
    let stem = stem_of(&whole);
    if is_one_run(&whole) || COMMON.lines().any(|common| common == whole || common == stem) {
        return Err(WeakPassword::Common);
    }
    let words = site_words
        .iter()
        .flat_map(|text| text.split_whitespace().chain([*text]));
    let obvious = words
        .chain([login.as_str(), "spindlebook"])
        .map(str::to_lowercase);
    if obvious
        .into_iter()
        .any(|word| word == whole || (!stem.is_empty() && stem_of(&word) == stem))
    {
        return Err(WeakPassword::Obvious);
    }
    Ok(())
}

/// What is left without digits and signs at both ends, with letters for the digits that stand for them: `P@ssw0rd1!`
/// is `password`.
fn stem_of(lower: &str) -> String {
    let inner = lower.trim_matches(|c: char| !c.is_alphabetic());
    let letters = inner.chars().map(|c| match c {
        '0' => 'o',
        '1' | '!' => 'i',
        '3' => 'e',
        '4' | '@' => 'a',
        '5' | '$' => 's',
        '7' => 't',
        other => other,
    });
    letters.collect()
}

/// `aaaaaaaa`, `12345678`, `87654321`, `abcdefgh`.
fn is_one_run(text: &str) -> bool {
    let steps: Vec<i64> = text
        .chars()
        .zip(text.chars().skip(1))
        .map(|(a, b)| i64::from(u32::from(b)) - i64::from(u32::from(a)))
        .collect();
    steps.iter().all(|step| *step == steps[0]) && steps.first().is_some_and(|step| step.abs() <= 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHEAP: PasswordCost = PasswordCost {
        memory_kib: 8,
        passes: 1,
    };

    fn check(password: &str) -> Result<(), WeakPassword> {
        let login = "anna.berg".parse().unwrap();
        check_new(
            &Secret::new(password),
            &login,
            &["north-hall", "Harbour Gearworks"],
        )
    }

    // ASVS 5.0, 6.2: at least 8 characters, any of them, no rule of composition, common and obvious ones refused.
    #[test]
    fn passwords_are_refused_for_being_known_and_not_for_their_characters() {
        for fine in [
            "vqzkwpxt",
            "correct horse battery",
            "ünïcödé-åß",
            "       spaces       ",
            "pass phrase 12",
            "🔩🔩🔧🔧🔩🔧🔩🔧",
            &"long ".repeat(40),
        ] {
            assert_eq!(check(fine), Ok(()), "{fine}");
        }
        for (password, why) in [
            ("7 chars", WeakPassword::TooShort),
            ("ünïcödé", WeakPassword::TooShort),
            ("", WeakPassword::TooShort),
            (&"x".repeat(1_025), WeakPassword::TooLong),
            ("password", WeakPassword::Common),
            ("P@ssw0rd1!", WeakPassword::Common),
            ("Welcome2026", WeakPassword::Common),
            ("12345678", WeakPassword::Common),
            ("87654321", WeakPassword::Common),
            ("aaaaaaaaaa", WeakPassword::Common),
            ("qwertyuiop", WeakPassword::Common),
            ("anna.berg", WeakPassword::Obvious),
            ("Anna.Berg99", WeakPassword::Obvious),
            ("north-hall", WeakPassword::Obvious),
            ("gearworks1", WeakPassword::Obvious),
            ("Spindlebook!", WeakPassword::Obvious),
        ] {
            assert_eq!(check(password), Err(why), "{password}");
        }
    }

    #[tokio::test]
    async fn a_password_counts_to_its_last_character() {
        let passwords = Passwords::new(CHEAP).unwrap();
        let long = "a".repeat(500);
        let hash = passwords.hash(Secret::new(long.clone())).await.unwrap();
        assert!(
            passwords
                .verify(Secret::new(long.clone()), Some(hash.clone()))
                .await
                .unwrap()
        );
        for wrong in [&long[1..], &format!("{long}b"), &long.to_uppercase(), ""] {
            assert!(
                !passwords
                    .verify(Secret::new(wrong), Some(hash.clone()))
                    .await
                    .unwrap()
            );
        }
    }

    #[tokio::test]
    async fn nobodys_password_is_never_right() {
        let passwords = Passwords::new(CHEAP).unwrap();
        assert!(!passwords.verify(Secret::new("anything"), None).await.unwrap());
    }

    #[test]
    fn the_default_is_argon2id_with_19_mib_and_two_passes_and_a_salt_of_its_own() {
        let passwords = Passwords::new(PasswordCost::default()).unwrap();
        let password = Secret::new("vqzkwpxt");
        let (one, two) = (
            passwords.hash_now(&password).unwrap(),
            passwords.hash_now(&password).unwrap(),
        );
        assert!(one.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{one}");
        assert_ne!(one, two);
    }
}

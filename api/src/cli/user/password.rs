//! A password from a person at the terminal, or from another program.

use crate::auth::{Login, PasswordCost, Passwords, Secret, check_new};
use crate::cli::failure::Failure;
use spindlebook_domain::shop::Shop;
use std::io::{self, BufRead, IsTerminal};

/// Asked for twice without showing it; `from_stdin`: the first line of standard input.
pub fn ask(login: &Login, shop: &Shop, from_stdin: bool) -> Result<Secret, Failure> {
    let password = if from_stdin { first_line()? } else { twice(login)? };
    let site_words = shop
        .site
        .iter()
        .flat_map(|site| [site.code.as_str(), site.name.as_str()]);
    check_new(&password, login, &site_words.collect::<Vec<_>>())
        .map_err(|weak| Failure::refused(format!("this password is not taken: {weak}")))?;
    Ok(password)
}

pub fn hash(password: &Secret) -> Result<String, Failure> {
    let passwords = Passwords::new(PasswordCost::default()).map_err(Failure::refused)?;
    passwords.hash_now(password).map_err(Failure::refused)
}

fn first_line() -> Result<Secret, Failure> {
    let mut line = String::new();
    io::stdin().lock().read_line(&mut line)?;
    Ok(Secret::new(line.trim_end_matches(['\r', '\n'])))
}

fn twice(login: &Login) -> Result<Secret, Failure> {
    if !io::stdin().is_terminal() {
        return Err(Failure::usage(
            "there is no terminal to ask for a password at: hand it in with --password-stdin",
        ));
    }
    let first = Secret::new(rpassword::prompt_password(format!("Password for {login}: "))?);
    let again = Secret::new(rpassword::prompt_password("Once more: ")?);
    if first == again {
        Ok(first)
    } else {
        Err(Failure::refused("the two differ; nothing was changed"))
    }
}

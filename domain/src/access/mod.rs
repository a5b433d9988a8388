//! Who may sign in here, and with which roles. Names, logins and secrets lie outside of the ledger.

mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{
    AddPrincipal, DisablePrincipal, EnablePrincipal, ForgetPrincipal, SetPrincipalRoles, SetPrincipalSecret,
};
pub(crate) use decide::{add, disable, enable, forget, set_roles, set_secret};
pub use event::{
    PrincipalAdded, PrincipalDisabled, PrincipalEnabled, PrincipalForgotten, PrincipalKind,
    PrincipalRolesSet, PrincipalSecretSet,
};
pub use refusal::AccessRefusal;

use crate::ids::{PrincipalId, Seq};
use crate::role::Role;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// A shop has dozens of people and a handful of clients.
pub const PRINCIPALS_MAX: usize = 2_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Principal {
    pub id: PrincipalId,
    pub kind: PrincipalKind,
    pub roles: BTreeSet<Role>,
    pub standing: Standing,
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    Enabled,
    Disabled,
    /// Disabled for good: name and login are gone.
    Forgotten,
}

impl Principal {
    pub fn is_enabled(&self) -> bool {
        self.standing == Standing::Enabled
    }

    pub fn is_enabled_admin(&self) -> bool {
        self.is_enabled() && self.roles.contains(&Role::Admin)
    }
}

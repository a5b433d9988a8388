use super::PrincipalKind;
use crate::ids::{PrincipalId, Seq};
use crate::role::Role;
use std::collections::BTreeSet;

#[derive(Clone, Debug)]
pub struct AddPrincipal {
    pub principal: PrincipalId,
    pub kind: PrincipalKind,
    pub roles: BTreeSet<Role>,
}

#[derive(Clone, Debug)]
pub struct SetPrincipalRoles {
    pub principal: PrincipalId,
    pub roles: BTreeSet<Role>,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct SetPrincipalSecret {
    pub principal: PrincipalId,
    /// `None` at the command line, and where people change their own: they prove it with the old one.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct DisablePrincipal {
    pub principal: PrincipalId,
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct EnablePrincipal {
    pub principal: PrincipalId,
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct ForgetPrincipal {
    pub principal: PrincipalId,
}

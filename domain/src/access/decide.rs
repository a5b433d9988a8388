use super::{
    AccessRefusal, AddPrincipal, DisablePrincipal, EnablePrincipal, ForgetPrincipal, PRINCIPALS_MAX,
    Principal, PrincipalAdded, PrincipalDisabled, PrincipalEnabled, PrincipalForgotten, PrincipalKind,
    PrincipalRolesSet, PrincipalSecretSet, SetPrincipalRoles, SetPrincipalSecret, Standing,
};
use crate::ids::{PrincipalId, Seq};
use crate::role::Role;
use crate::shared_map::SharedMap;
use std::collections::BTreeSet;

type Principals = SharedMap<PrincipalId, Principal>;

pub fn add(
    all: &Principals,
    command: &AddPrincipal,
    login_taken: bool,
) -> Result<PrincipalAdded, AccessRefusal> {
    if all.len() >= PRINCIPALS_MAX {
        return Err(AccessRefusal::TooMany { max: PRINCIPALS_MAX });
    }
    if all.get(&command.principal).is_some() {
        return Err(AccessRefusal::IdTaken {
            principal: command.principal,
        });
    }
    roles_fit(command.kind, &command.roles)?;
    if login_taken {
        return Err(AccessRefusal::LoginTaken {});
    }
    Ok(PrincipalAdded {
        principal: command.principal,
        kind: command.kind,
        roles: command.roles.clone(),
    })
}

pub fn set_roles(all: &Principals, command: &SetPrincipalRoles) -> Result<PrincipalRolesSet, AccessRefusal> {
    let principal = current(all, command.principal, command.expected)?;
    not_forgotten(principal)?;
    roles_fit(principal.kind, &command.roles)?;
    if !command.roles.contains(&Role::Admin) {
        not_the_last_admin(all, principal)?;
    }
    Ok(PrincipalRolesSet {
        principal: principal.id,
        roles: command.roles.clone(),
    })
}

pub fn set_secret(
    all: &Principals,
    command: &SetPrincipalSecret,
) -> Result<PrincipalSecretSet, AccessRefusal> {
    let principal = current(all, command.principal, command.expected)?;
    not_forgotten(principal)?;
    Ok(PrincipalSecretSet {
        principal: principal.id,
    })
}

pub fn disable(all: &Principals, command: &DisablePrincipal) -> Result<PrincipalDisabled, AccessRefusal> {
    let principal = current(all, command.principal, command.expected)?;
    not_forgotten(principal)?;
    if !principal.is_enabled() {
        return Err(AccessRefusal::AlreadyDisabled {
            principal: principal.id,
        });
    }
    not_the_last_admin(all, principal)?;
    Ok(PrincipalDisabled {
        principal: principal.id,
    })
}

pub fn enable(all: &Principals, command: &EnablePrincipal) -> Result<PrincipalEnabled, AccessRefusal> {
    let principal = current(all, command.principal, command.expected)?;
    not_forgotten(principal)?;
    if principal.is_enabled() {
        return Err(AccessRefusal::AlreadyEnabled {
            principal: principal.id,
        });
    }
    Ok(PrincipalEnabled {
        principal: principal.id,
    })
}

pub fn forget(all: &Principals, command: &ForgetPrincipal) -> Result<PrincipalForgotten, AccessRefusal> {
    let principal = current(all, command.principal, None)?;
    not_forgotten(principal)?;
    not_the_last_admin(all, principal)?;
    Ok(PrincipalForgotten {
        principal: principal.id,
    })
}

fn current(all: &Principals, id: PrincipalId, expected: Option<Seq>) -> Result<&Principal, AccessRefusal> {
    let principal = all.get(&id).ok_or(AccessRefusal::Unknown { principal: id })?;
    match expected {
        Some(expected) if expected != principal.changed_seq => Err(AccessRefusal::Stale {
            expected,
            current: principal.changed_seq,
        }),
        _ => Ok(principal),
    }
}

fn not_forgotten(principal: &Principal) -> Result<(), AccessRefusal> {
    if principal.standing == Standing::Forgotten {
        return Err(AccessRefusal::Forgotten {
            principal: principal.id,
        });
    }
    Ok(())
}

fn not_the_last_admin(all: &Principals, principal: &Principal) -> Result<(), AccessRefusal> {
    let others = || {
        all.values()
            .any(|other| other.id != principal.id && other.is_enabled_admin())
    };
    if principal.is_enabled_admin() && !others() {
        return Err(AccessRefusal::LastAdmin {
            principal: principal.id,
        });
    }
    Ok(())
}

fn roles_fit(kind: PrincipalKind, roles: &BTreeSet<Role>) -> Result<(), AccessRefusal> {
    if roles.is_empty() {
        return Err(AccessRefusal::NoRoles {});
    }
    let for_clients = |role: &&Role| matches!(role, Role::Integration | Role::Device | Role::Viewer);
    let for_persons = |role: &&Role| !matches!(role, Role::Integration | Role::Device);
    match kind {
        PrincipalKind::Client => match roles.iter().find(|role| !for_clients(role)) {
            Some(role) => Err(AccessRefusal::NotForClients {
                role: role.to_string(),
            }),
            None => Ok(()),
        },
        PrincipalKind::Person => match roles.iter().find(|role| !for_persons(role)) {
            Some(role) => Err(AccessRefusal::NotForPersons {
                role: role.to_string(),
            }),
            None => Ok(()),
        },
    }
}

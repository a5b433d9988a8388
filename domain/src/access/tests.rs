use super::{
    AddPrincipal, DisablePrincipal, EnablePrincipal, ForgetPrincipal, PrincipalKind, SetPrincipalRoles,
    SetPrincipalSecret, Standing,
};
use crate::command::Command;
use crate::role::Role;
use crate::shop::given::{Given, an_open_site, principal, refused};
use std::collections::BTreeSet;

fn person(number: u8, roles: &[Role]) -> AddPrincipal {
    let roles = roles.iter().copied().collect();
    AddPrincipal {
        principal: principal(number),
        kind: PrincipalKind::Person,
        roles,
    }
}

fn client(number: u8, roles: &[Role]) -> AddPrincipal {
    AddPrincipal {
        kind: PrincipalKind::Client,
        ..person(number, roles)
    }
}

fn roles(number: u8, roles: &[Role]) -> SetPrincipalRoles {
    let roles = roles.iter().copied().collect();
    SetPrincipalRoles {
        principal: principal(number),
        roles,
        expected: None,
    }
}

fn disable(number: u8) -> DisablePrincipal {
    DisablePrincipal {
        principal: principal(number),
        expected: None,
    }
}

fn enable(number: u8) -> EnablePrincipal {
    EnablePrincipal {
        principal: principal(number),
        expected: None,
    }
}

/// An admin (1), an operator (2) and a client (3).
fn a_staffed_site() -> Given {
    let mut given = an_open_site();
    given
        .does(person(1, &[Role::Admin, Role::Planner]))
        .does(person(2, &[Role::Operator]))
        .does(client(3, &[Role::Integration]));
    given
}

#[test]
fn every_refusal_of_adding_in_its_order() {
    let given = a_staffed_site();
    assert_eq!(refused(given.when(person(1, &[]))), "principal.id-taken");
    assert_eq!(refused(given.when(person(9, &[]))), "principal.no-roles");
    assert_eq!(
        refused(given.when(client(9, &[Role::Admin]))),
        "principal.role-not-for-clients"
    );
    assert_eq!(
        refused(given.when(person(9, &[Role::Device]))),
        "principal.role-not-for-persons"
    );
    let taken = given.decide(&Command::from(person(9, &[Role::Viewer])), true);
    assert_eq!(refused(taken), "principal.login-taken");
}

#[test]
fn the_last_admin_stays() {
    let mut given = a_staffed_site();
    assert_eq!(refused(given.when(disable(1))), "principal.last-admin");
    assert_eq!(
        refused(given.when(roles(1, &[Role::Planner]))),
        "principal.last-admin"
    );
    assert_eq!(
        refused(given.when(ForgetPrincipal {
            principal: principal(1)
        })),
        "principal.last-admin"
    );
    given.does(roles(2, &[Role::Admin])).does(disable(1));
    assert_eq!(
        refused(given.when(disable(2))),
        "principal.last-admin",
        "a disabled admin lets nobody in"
    );
}

#[test]
fn disabling_and_enabling_alternate() {
    let mut given = a_staffed_site();
    assert_eq!(refused(given.when(enable(2))), "principal.already-enabled");
    given.does(disable(2));
    assert_eq!(refused(given.when(disable(2))), "principal.already-disabled");
    given.does(enable(2));
    assert!(given.shop.principals.get(&principal(2)).unwrap().is_enabled());
}

#[test]
fn the_forgotten_stay_forgotten() {
    let mut given = a_staffed_site();
    given.does(ForgetPrincipal {
        principal: principal(2),
    });
    assert_eq!(
        given.shop.principals.get(&principal(2)).unwrap().standing,
        Standing::Forgotten
    );
    let again = [
        refused(given.when(enable(2))),
        refused(given.when(disable(2))),
        refused(given.when(roles(2, &[Role::Viewer]))),
        refused(given.when(SetPrincipalSecret {
            principal: principal(2),
            expected: None,
        })),
        refused(given.when(ForgetPrincipal {
            principal: principal(2),
        })),
    ];
    assert_eq!(again, ["principal.forgotten"; 5]);
}

#[test]
fn a_change_on_an_old_version_is_stale() {
    let mut given = a_staffed_site();
    let before = given.shop.principals.get(&principal(2)).unwrap().changed_seq;
    given.does(roles(2, &[Role::Operator, Role::Inspector]));
    let stale = SetPrincipalRoles {
        expected: Some(before),
        ..roles(2, &[Role::Viewer])
    };
    assert_eq!(refused(given.when(stale)), "principal.stale");
    let current = given.shop.principals.get(&principal(2)).unwrap().changed_seq;
    given.does(SetPrincipalRoles {
        expected: Some(current),
        ..roles(2, &[Role::Viewer])
    });
    assert_eq!(
        given.shop.principals.get(&principal(2)).unwrap().roles,
        BTreeSet::from([Role::Viewer])
    );
}

#[test]
fn a_secret_set_on_an_old_version_is_stale() {
    let mut given = a_staffed_site();
    let secret = |expected| SetPrincipalSecret {
        principal: principal(2),
        expected,
    };
    let first = Some(given.shop.principals.get(&principal(2)).unwrap().changed_seq);
    given.does(secret(first));
    assert_eq!(refused(given.when(secret(first))), "principal.stale");
    let second = Some(given.shop.principals.get(&principal(2)).unwrap().changed_seq);
    given.does(secret(second)).does(secret(None));
}

#[test]
fn nobody_unknown_is_changed() {
    let given = a_staffed_site();
    assert_eq!(refused(given.when(disable(77))), "principal.unknown");
}

use crate::ids::PrincipalId;
use crate::refusal::refusals;

refusals! {
    pub enum AccessRefusal {
        Unknown { principal: PrincipalId } =>
            (NotFound, "principal.unknown", "", "there is no user or client {principal} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "principal.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        IdTaken { principal: PrincipalId } =>
            (Rule, "principal.id-taken", "", "there is a user or client {principal} already"),
        LoginTaken {} =>
            (Rule, "principal.login-taken", "/login", "this login is taken at this site; choose another"),
        TooMany { max: usize } =>
            (Rule, "principal.too-many", "", "this site has {max} users and clients, which is the most it takes"),
        NoRoles {} =>
            (Invalid, "principal.no-roles", "/roles", "a user or client needs at least one role"),
        /// A client is no person: it cannot keep users or act at a load station.
        NotForClients { role: String } =>
            (Rule, "principal.role-not-for-clients", "/roles", "a client cannot have the role {role}; give it integration, device or viewer"),
        NotForPersons { role: String } =>
            (Rule, "principal.role-not-for-persons", "/roles", "a person cannot have the role {role}; it is for machine clients and tablets"),
        /// Without an admin nobody could let anybody in again.
        LastAdmin { principal: PrincipalId } =>
            (Rule, "principal.last-admin", "", "{principal} is the last enabled admin; make another one first"),
        AlreadyDisabled { principal: PrincipalId } =>
            (Rule, "principal.already-disabled", "", "{principal} is disabled already"),
        AlreadyEnabled { principal: PrincipalId } =>
            (Rule, "principal.already-enabled", "", "{principal} is enabled already"),
        Forgotten { principal: PrincipalId } =>
            (Rule, "principal.forgotten", "", "{principal} was forgotten; add a new user instead"),
    }
}

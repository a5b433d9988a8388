//! Guessing passwords is slow: attempts to sign in are counted by login and by address.

use crate::problem::{Code, Problem};
use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use spindlebook_domain::ids::SiteId;
use std::hash::Hash;
use std::net::IpAddr;
use std::num::NonZeroU32;
use std::time::Duration;

#[derive(Clone, Copy, Debug)]
pub struct ThrottleSettings {
    /// Attempts at one login that are taken at once, and the seconds after which one more is.
    pub login_burst: u32,
    pub login_every_s: u64,
    pub address_burst: u32,
    pub address_every_s: u64,
}

impl Default for ThrottleSettings {
    /// 100 guesses an hour at one login; a hall full of tablets behind one address still gets in.
    fn default() -> Self {
        Self {
            login_burst: 10,
            login_every_s: 36,
            address_burst: 120,
            address_every_s: 1,
        }
    }
}

type Keyed<K> = DefaultKeyedRateLimiter<K>;

#[derive(Debug)]
pub struct Throttle {
    logins: Keyed<(SiteId, String)>,
    addresses: Keyed<IpAddr>,
}

impl Throttle {
    pub fn new(settings: &ThrottleSettings) -> Self {
        Self {
            logins: RateLimiter::keyed(quota(settings.login_burst, settings.login_every_s)),
            addresses: RateLimiter::keyed(quota(settings.address_burst, settings.address_every_s)),
        }
    }

    pub fn attempt_from(&self, address: IpAddr) -> Result<(), Problem> {
        attempt(
            &self.addresses,
            &address,
            "Too many attempts to sign in came from your address.",
        )
    }

    /// Counts logins that do not exist like those that do.
    pub fn attempt_at(&self, site: SiteId, login: &str) -> Result<(), Problem> {
        let key = (site, login.to_ascii_lowercase());
        attempt(
            &self.logins,
            &key,
            "Too many attempts to sign in with this login.",
        )
    }

    /// Forgets whoever has all attempts left again.
    pub fn tidy(&self) {
        self.logins.retain_recent();
        self.addresses.retain_recent();
    }
}

fn quota(burst: u32, every_s: u64) -> Quota {
    let burst = NonZeroU32::new(burst).unwrap_or(NonZeroU32::MIN);
    let every = Duration::from_secs(every_s.max(1));
    Quota::with_period(every)
        .unwrap_or(Quota::per_second(NonZeroU32::MIN))
        .allow_burst(burst)
}

fn attempt<K: Hash + Eq + Clone>(limiter: &Keyed<K>, key: &K, detail: &str) -> Result<(), Problem> {
    limiter.check_key(key).map_err(|refused| {
        let wait = refused.wait_time_from(DefaultClock::default().now());
        Problem::new(Code::TooManySignIns, detail).with_retry_after_s(wait.as_secs() + 1)
    })
}

#[cfg(test)]
mod tests {
    use super::{Throttle, ThrottleSettings};
    use spindlebook_domain::ids::SiteId;
    use std::net::IpAddr;
    use uuid::Uuid;

    #[test]
    fn the_eleventh_attempt_at_a_login_waits_and_other_logins_do_not() {
        let throttle = Throttle::new(&ThrottleSettings::default());
        let site = SiteId(Uuid::from_u128(1));
        for _ in 0..10 {
            throttle.attempt_at(site, "anna").unwrap();
        }
        let refused = throttle.attempt_at(site, "ANNA").unwrap_err();
        assert_eq!(
            (refused.status().as_u16(), refused.code()),
            (429, "sign-in.too-many")
        );
        throttle.attempt_at(site, "ben").unwrap();
        throttle.attempt_at(SiteId(Uuid::from_u128(2)), "anna").unwrap();
    }

    #[test]
    fn one_address_cannot_try_many_logins() {
        let throttle = Throttle::new(&ThrottleSettings {
            address_burst: 3,
            ..ThrottleSettings::default()
        });
        let address = IpAddr::from([192, 0, 2, 1]);
        let taken = (0..10).filter(|_| throttle.attempt_from(address).is_ok()).count();
        assert_eq!(taken, 3);
        throttle.attempt_from(IpAddr::from([192, 0, 2, 2])).unwrap();
    }
}

//! The forms in which published problems are read: JSON, one file for a family.

use super::job_shop::{JobShop, MACHINES_MAX, OPERATIONS_MAX, Way};
use super::pool::{KINDS_MAX, LOADS_MAX, Load, Pool};
use super::setups::Setups;
use super::tardiness::{Job, Tardiness};
use super::{Named, Published};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::collections::BTreeMap;
use thiserror::Error;

pub const INSTANCES_MAX: usize = 10_000;
/// Times and weights: so many of them add up and multiply within 63 bits.
pub const NUMBER_MAX: i64 = 1_000_000;

/// What is wrong with a file, and where.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("{}{what}", place(at))]
pub struct FormError {
    /// A JSON pointer.
    pub at: String,
    pub what: String,
}

fn place(at: &str) -> String {
    if at.is_empty() {
        String::new()
    } else {
        format!("{at}: ")
    }
}

impl FormError {
    fn new(at: impl Into<String>, what: impl Into<String>) -> Self {
        Self {
            at: at.into(),
            what: what.into(),
        }
    }
}

/// Reads any of the forms. `name` is what a file with a single problem is called.
pub fn read(name: &str, text: &str) -> Result<Vec<Named>, FormError> {
    let file: Value = serde_json::from_str(text)
        .map_err(|error| FormError::new("", format!("this is no JSON ({error})")))?;
    if file.get("loads").is_some() {
        let form: PoolForm = parse("", file)?;
        return Ok(vec![Named {
            name: name.to_owned(),
            problem: Published::Pool(form.check()?),
            published: None,
        }]);
    }
    let instances = match file.get("instances") {
        Some(Value::Array(list)) if list.len() <= INSTANCES_MAX => {
            list.iter().cloned().zip(0..).map(numbered).collect()
        }
        Some(Value::Object(by_name)) if by_name.len() <= INSTANCES_MAX => {
            by_name.clone().into_iter().collect()
        }
        Some(_) => Vec::new(),
        None => {
            return Err(FormError::new(
                "",
                "neither `loads` (a pallet pool) nor `instances` stands in it",
            ));
        }
    };
    if instances.is_empty() {
        let what = format!("a list or an object of 1 to {INSTANCES_MAX} instances would be right");
        return Err(FormError::new("/instances", what));
    }
    instances
        .into_iter()
        .map(|(name, instance)| one(&name, instance))
        .collect()
}

fn numbered((instance, place): (Value, usize)) -> (String, Value) {
    let number = instance.get("i").and_then(Value::as_u64);
    (
        number.map_or_else(|| format!("[{place}]"), |number| number.to_string()),
        instance,
    )
}

fn one(name: &str, instance: Value) -> Result<Named, FormError> {
    let at = format!("/instances/{name}");
    let has = |member: &str| instance.get(member).is_some();
    let (problem, published) = if has("s") {
        let form: SetupsForm = parse(&at, instance)?;
        let published = form.optimum;
        (Published::Setups(form.check(&at)?), published)
    } else if has("durations") {
        let form: JobShopForm = parse(&at, instance)?;
        let published = form.ub_2026.or(form.ub_jsl);
        (Published::JobShop(form.check(&at)?), published)
    } else if has("jobs") {
        let form: FlexibleForm = parse(&at, instance)?;
        let published = form.ub;
        (Published::JobShop(form.check(&at)?), published)
    } else if has("p") {
        let form: TardinessForm = parse(&at, instance)?;
        let published = form.best;
        let jobs = jobs(&at, &form.p, &form.w, &form.d)?;
        (Published::Tardiness(Tardiness { jobs }), published)
    } else {
        let what = "`p`, `w`, `d` (weighted tardiness, with `s` for setups), `machines` and `durations` (job shop) or `jobs` \
            (flexible job shop) would be right";
        return Err(FormError::new(at, what));
    };
    Ok(Named {
        name: name.to_owned(),
        problem,
        published,
    })
}

fn parse<T: DeserializeOwned>(at: &str, value: Value) -> Result<T, FormError> {
    serde_json::from_value(value).map_err(|error| FormError::new(at, error.to_string()))
}

fn within(at: String, number: i64, least: i64) -> Result<i64, FormError> {
    if (least..=NUMBER_MAX).contains(&number) {
        return Ok(number);
    }
    Err(FormError::new(
        at,
        format!("{number}, but {least} to {NUMBER_MAX} would be right"),
    ))
}

#[derive(Deserialize)]
struct TardinessForm {
    best: Option<i64>,
    p: Vec<i64>,
    w: Vec<i64>,
    d: Vec<i64>,
}

fn jobs(at: &str, times: &[i64], weights: &[i64], dues: &[i64]) -> Result<Vec<Job>, FormError> {
    if times.is_empty() || times.len() > OPERATIONS_MAX {
        return Err(FormError::new(
            format!("{at}/p"),
            format!("1 to {OPERATIONS_MAX} jobs would be right"),
        ));
    }
    for (member, list) in [("w", weights), ("d", dues)] {
        if list.len() != times.len() {
            let what = format!("{} numbers for {} jobs", list.len(), times.len());
            return Err(FormError::new(format!("{at}/{member}"), what));
        }
    }
    let numbers = times.iter().zip(weights).zip(dues).enumerate();
    let jobs = numbers.map(|(place, ((&time, &weight), &due))| {
        Ok(Job {
            time: within(format!("{at}/p/{place}"), time, 0)?,
            weight: within(format!("{at}/w/{place}"), weight, 0)?,
            due: within(format!("{at}/d/{place}"), due, -NUMBER_MAX)?,
        })
    });
    jobs.collect()
}

#[derive(Deserialize)]
struct SetupsForm {
    optimum: Option<i64>,
    p: Vec<i64>,
    w: Vec<i64>,
    d: Vec<i64>,
    /// From a job (-1: none before), to a job, how long.
    s: Vec<(i64, usize, i64)>,
}

impl SetupsForm {
    fn check(self, at: &str) -> Result<Setups, FormError> {
        let jobs = jobs(at, &self.p, &self.w, &self.d)?;
        let count = jobs.len();
        let (mut first, mut between) = (vec![0; count], vec![0; count * count]);
        for (place, (from, to, setup)) in self.s.into_iter().enumerate() {
            let at = format!("{at}/s/{place}");
            let setup = within(format!("{at}/2"), setup, 0)?;
            let cell = match usize::try_from(from) {
                Err(_) if from == -1 => first.get_mut(to),
                Ok(from) if from < count && to < count => between.get_mut(from * count + to),
                _ => None,
            };
            *cell
                .ok_or_else(|| FormError::new(at, format!("jobs are numbered from 0 to {}", count - 1)))? =
                setup;
        }
        Ok(Setups { jobs, first, between })
    }
}

#[derive(Deserialize)]
struct JobShopForm {
    machines: Vec<Vec<usize>>,
    durations: Vec<Vec<i64>>,
    ub_jsl: Option<i64>,
    ub_2026: Option<i64>,
}

impl JobShopForm {
    fn check(self, at: &str) -> Result<JobShop, FormError> {
        let machines = self.machines.iter().flatten().max().map_or(0, |last| last + 1);
        let same = |(machines, durations): (&Vec<usize>, &Vec<i64>)| machines.len() == durations.len();
        if self.machines.len() != self.durations.len() || !self.machines.iter().zip(&self.durations).all(same)
        {
            return Err(FormError::new(
                at,
                "`machines` and `durations` need one number for each operation of each job",
            ));
        }
        let operations = |(machines, durations): (Vec<usize>, Vec<i64>)| {
            let pairs = machines.into_iter().zip(durations);
            pairs.map(|pair| vec![pair]).collect()
        };
        let jobs: Vec<JobForm> = self
            .machines
            .into_iter()
            .zip(self.durations)
            .map(operations)
            .collect();
        shop(at, machines, &jobs)
    }
}

/// Of each operation, its machines and the time on each.
type JobForm = Vec<Vec<(usize, i64)>>;

#[derive(Deserialize)]
struct FlexibleForm {
    machines: usize,
    jobs: Vec<JobForm>,
    ub: Option<i64>,
}

impl FlexibleForm {
    fn check(self, at: &str) -> Result<JobShop, FormError> {
        shop(at, self.machines, &self.jobs)
    }
}

fn shop(at: &str, machines: usize, jobs: &[JobForm]) -> Result<JobShop, FormError> {
    let operations: usize = jobs.iter().map(Vec::len).sum();
    if machines == 0 || machines > MACHINES_MAX || operations == 0 || operations > OPERATIONS_MAX {
        let what =
            format!("1 to {MACHINES_MAX} machines and 1 to {OPERATIONS_MAX} operations would be right");
        return Err(FormError::new(at, what));
    }
    let mut checked = Vec::with_capacity(jobs.len());
    for (number, job) in jobs.iter().enumerate() {
        let mut operations = Vec::with_capacity(job.len());
        for (place, ways) in job.iter().enumerate() {
            let at = format!("{at}/jobs/{number}/{place}");
            let known =
                |&(machine, time): &(usize, i64)| machine < machines && (0..=NUMBER_MAX).contains(&time);
            if ways.is_empty() || ways.len() > MACHINES_MAX || !ways.iter().all(known) {
                let what = format!(
                    "1 to {MACHINES_MAX} machines below {machines}, each with a time of 0 to {NUMBER_MAX}, would be right"
                );
                return Err(FormError::new(at, what));
            }
            operations.push(
                ways.iter()
                    .map(|&(machine, time)| Way { machine, time })
                    .collect(),
            );
        }
        checked.push(operations);
    }
    Ok(JobShop::new(machines, &checked))
}

#[derive(Deserialize)]
struct PoolForm {
    loads: Vec<LoadForm>,
    pallets: usize,
    fixtures: BTreeMap<String, usize>,
    attended: Vec<(i64, i64)>,
    start: i64,
}

#[derive(Deserialize)]
struct LoadForm {
    id: i64,
    fixture: String,
    setup: i64,
    cut: i64,
    unload: i64,
    weight: i64,
    #[serde(default)]
    release: i64,
    due: i64,
}

impl PoolForm {
    fn check(self) -> Result<Pool, FormError> {
        if self.loads.is_empty() || self.loads.len() > LOADS_MAX {
            return Err(FormError::new(
                "/loads",
                format!("1 to {LOADS_MAX} loads would be right"),
            ));
        }
        if self.pallets == 0 {
            return Err(FormError::new("/pallets", "at least one pallet would be right"));
        }
        if self.fixtures.is_empty() || self.fixtures.len() > KINDS_MAX {
            return Err(FormError::new(
                "/fixtures",
                format!("1 to {KINDS_MAX} kinds would be right"),
            ));
        }
        let in_order = self.attended.windows(2).all(|pair| pair[0].1 <= pair[1].0);
        if !in_order || !self.attended.iter().all(|window| window.0 < window.1) {
            return Err(FormError::new(
                "/attended",
                "windows [from, to] in order and apart would be right",
            ));
        }
        let kinds: Vec<&String> = self.fixtures.keys().collect();
        let load = |(place, load): (usize, &LoadForm)| {
            let at = |member: &str| format!("/loads/{place}/{member}");
            let kind = kinds
                .iter()
                .position(|kind| **kind == load.fixture && self.fixtures[*kind] > 0);
            Ok(Load {
                id: load.id,
                kind: kind
                    .ok_or_else(|| FormError::new(at("fixture"), "there is no such fixture in `fixtures`"))?,
                setup: within(at("setup"), load.setup, 0)?,
                cut: within(at("cut"), load.cut, 0)?,
                unload: within(at("unload"), load.unload, 0)?,
                weight: within(at("weight"), load.weight, 0)?,
                release: within(at("release"), load.release, 0)?,
                due: within(at("due"), load.due, -NUMBER_MAX)?,
            })
        };
        let loads: Result<Vec<Load>, FormError> = self.loads.iter().enumerate().map(load).collect();
        Ok(Pool {
            loads: loads?,
            pallets: self.pallets,
            copies: self.fixtures.values().copied().collect(),
            attended: self.attended,
            start: self.start,
        })
    }
}

use super::line::{EntryLine, FORMAT, HeadLine, HeaderLine};
use crate::auth::PublicKey;
use crate::book::{Chain, ExportedHead};
use serde::de::DeserializeOwned;
use spindlebook_domain::ids::{Seq, SiteId};
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

/// What a file says of itself, and what is wrong with it.
pub struct Checked {
    pub header: HeaderLine,
    pub entries: Seq,
    pub signer: Option<PublicKey>,
    pub faults: Vec<String>,
}

/// Checks every line against the one before and the last one against them all.
pub fn check(path: &Path, mut progress: impl FnMut(Seq)) -> Result<Checked, String> {
    let mut lines = BufReader::new(open(path)?).lines();
    let first = lines
        .next()
        .ok_or("it is empty")?
        .map_err(|error| error.to_string())?;
    let header: HeaderLine = parsed(&first, 1)?;
    if header.format != FORMAT {
        return Err(format!(
            "it is of the format `{}`; this program reads {FORMAT}",
            header.format
        ));
    }
    let mut chain = Chain::new(None);
    let mut faults = Vec::new();
    let mut waiting: Option<(usize, String)> = None;
    for (line, number) in lines.zip(2..) {
        let line = line.map_err(|error| format!("line {number}: {error}"))?;
        // The last line is the head, and only at the end is it known which one that is.
        if let Some((number, line)) = waiting.replace((number, line)) {
            match parsed::<EntryLine>(&line, number).and_then(EntryLine::into_entry) {
                Ok(entry) => {
                    chain.check(&entry);
                    progress(entry.envelope.seq);
                }
                Err(why) => faults.push(why),
            }
        }
    }
    let (number, last) = waiting.ok_or("it has a header and nothing else")?;
    let (found, broken) = chain.finish(None);
    faults.extend(broken.iter().map(ToString::to_string));
    let head = match parsed::<HeadLine>(&last, number) {
        Ok(head) => head,
        Err(why) => {
            faults.push(format!(
                "it is cut short: its last line is no signed head ({why})"
            ));
            return Ok(Checked {
                header,
                entries: found.seq,
                signer: None,
                faults,
            });
        }
    };
    if head.head.seq != found.seq || head.hash() != Ok(found.hash) {
        faults.push(format!(
            "the head tells of entry {}, the file ends otherwise, with entry {}",
            head.head.seq, found.seq
        ));
    }
    if head.head.site != header.site {
        faults.push("the head is of another site than the header".to_owned());
    }
    let signer = head
        .signer()
        .map_err(|why| faults.push(format!("the head: {why}")))
        .ok();
    Ok(Checked {
        header,
        entries: found.seq,
        signer,
        faults,
    })
}

/// The signed head alone, to hold a ledger against.
pub fn head(path: &Path) -> Result<(SiteId, ExportedHead, PublicKey), String> {
    let mut last = None;
    for line in BufReader::new(open(path)?).lines() {
        last = Some(line.map_err(|error| error.to_string())?);
    }
    let last = last.ok_or("it is empty")?;
    let head: HeadLine =
        serde_json::from_str(&last).map_err(|_| "its last line is no signed head: was it cut short?")?;
    let exported = ExportedHead {
        seq: head.head.seq,
        hash: head.hash()?,
    };
    Ok((head.head.site, exported, head.signer()?))
}

fn open(path: &Path) -> Result<File, String> {
    File::open(path).map_err(|error| format!("it cannot be read: {error}"))
}

fn parsed<T: DeserializeOwned>(line: &str, number: usize) -> Result<T, String> {
    serde_json::from_str(line).map_err(|error| format!("line {number} does not read: {error}"))
}

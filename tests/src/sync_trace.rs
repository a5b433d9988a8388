//! What strace saw: was every 201 sent after a sync of SQLite's write-ahead log that began after the request had come?

use std::collections::BTreeMap;
use std::path::Path;

const CALLS: &str = "trace=fsync,fdatasync,read,readv,recvfrom,recvmsg,write,writev,sendto,sendmsg";

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SyncTrace {
    pub answers: usize,
    pub syncs: usize,
    /// The lines of answers that no sync came before.
    pub answers_before_their_sync: Vec<String>,
}

/// strace and its options; the command that it traces is to follow.
pub fn command_line(output: &Path) -> Vec<String> {
    let output = output.display().to_string();
    // -y tells the file behind a descriptor.
    ["strace", "-f", "-y", "-s", "24", "-e", CALLS, "-o", &output]
        .map(str::to_owned)
        .to_vec()
}

/// A call of one thread, from the line where it began to the line where it ended. Whoever waits for a thread's call
/// cannot act before strace has seen that call end, so the order of the lines is the order of cause and effect.
struct Call {
    began: usize,
    ended: usize,
    name: String,
    /// Descriptor and, behind it, what it stands for.
    file: String,
    text: String,
}

pub fn read(trace: &str) -> SyncTrace {
    let calls = calls(trace);
    let mut seen = SyncTrace::default();
    let mut syncs: Vec<(usize, usize)> = Vec::new();
    // Where the last request of each connection had come in.
    let mut asked: BTreeMap<String, usize> = BTreeMap::new();
    for call in &calls {
        let is_sync = matches!(call.name.as_str(), "fsync" | "fdatasync");
        if is_sync && call.file.contains("-wal>") {
            syncs.push((call.began, call.ended));
            seen.syncs += 1;
        } else if call.text.contains("\"POST /v1/") {
            asked.insert(call.file.clone(), call.ended);
        } else if call.text.contains("\"HTTP/1.1 201") {
            seen.answers += 1;
            let asked_at = asked.get(&call.file).copied().unwrap_or(usize::MAX);
            let is_kept = syncs
                .iter()
                .rev()
                .any(|(began, ended)| *began > asked_at && *ended < call.began);
            if !is_kept {
                seen.answers_before_their_sync.push(call.text.clone());
            }
        }
    }
    seen
}

/// In the order in which they ended.
fn calls(trace: &str) -> Vec<Call> {
    let mut open: BTreeMap<(&str, &str), (usize, &str)> = BTreeMap::new();
    let mut calls = Vec::new();
    for (at, line) in trace.lines().enumerate() {
        let Some((thread, rest)) = line.split_once(' ') else {
            continue;
        };
        let rest = rest.trim_start();
        if let Some(resumed) = rest.strip_prefix("<... ") {
            let Some((name, end)) = resumed.split_once(" resumed>") else {
                continue;
            };
            if let Some((began, begin)) = open.remove(&(thread, name)) {
                calls.push(call(began, at, name, &format!("{begin}{end}")));
            }
        } else if let Some((name, arguments)) = rest.split_once('(') {
            match arguments.split_once(" <unfinished ...>") {
                Some((begin, _)) => drop(open.insert((thread, name), (at, begin))),
                None => calls.push(call(at, at, name, arguments)),
            }
        }
    }
    calls
}

fn call(began: usize, ended: usize, name: &str, arguments: &str) -> Call {
    let file = arguments.split_once('>').map_or("", |(file, _)| file);
    Call {
        began,
        ended,
        name: name.to_owned(),
        file: format!("{file}>"),
        text: arguments.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RIGHT: &str = "\
11 recvfrom(15<socket:[7]>, \"POST /v1/machines/x HTTP\"..., 4096, 0, NULL, NULL) = 300
12 fdatasync(9</d/spindlebook.sqlite-wal> <unfinished ...>
11 recvfrom(16<socket:[8]>, \"POST /v1/machines/y HTTP\"..., 4096, 0, NULL, NULL) = 300
12 <... fdatasync resumed>)            = 0
11 writev(15<socket:[7]>, [{iov_base=\"HTTP/1.1 201 Created\\r\\ncon\"..., iov_len=300}], 1) = 300
12 fdatasync(9</d/spindlebook.sqlite-wal>) = 0
11 sendto(16<socket:[8]>, \"HTTP/1.1 201 Created\\r\\ncon\"..., 300, MSG_NOSIGNAL, NULL, 0) = 300
";

    #[test]
    fn an_answer_after_its_sync_is_right() {
        assert_eq!(
            read(RIGHT),
            SyncTrace {
                answers: 2,
                syncs: 2,
                answers_before_their_sync: Vec::new()
            }
        );
    }

    #[test]
    fn an_answer_before_or_without_its_sync_is_seen() {
        let lines: Vec<&str> = RIGHT.lines().collect();
        let early = [lines[0], lines[1], lines[4], lines[3]].join("\n");
        assert_eq!(read(&early).answers_before_their_sync.len(), 1);
        // That sync began before the request had come.
        let somebody_elses = [lines[1], lines[0], lines[3], lines[4]].join("\n");
        assert_eq!(read(&somebody_elses).answers_before_their_sync.len(), 1);
        let of_another_file = RIGHT.replace("sqlite-wal", "sqlite");
        assert_eq!(read(&of_another_file).answers_before_their_sync.len(), 2);
    }
}

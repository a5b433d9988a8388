//! A reader of server-sent events, written from the rules of the HTML standard and not from the service that sends them.

use reqwest::Response;
use serde_json::Value;
use std::collections::VecDeque;
use std::time::Duration;

pub const MEDIA_TYPE: &str = "text/event-stream";

/// Longer than the service lets pass between two signs of life.
const NEXT_WITHIN: Duration = Duration::from_secs(15);

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    pub kind: String,
    pub data: String,
    /// The last id that was sent, with this event or before.
    pub last_id: String,
}

impl Event {
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.data).unwrap_or_else(|error| panic!("no JSON ({error}): {}", self.data))
    }

    #[track_caller]
    pub fn seq(&self) -> u64 {
        self.last_id
            .parse()
            .unwrap_or_else(|error| panic!("`{}` is no number: {error}", self.last_id))
    }
}

/// Takes bytes as they come, however they are cut.
#[derive(Debug, Default)]
pub struct Parser {
    unread: Vec<u8>,
    has_begun: bool,
    /// The line before ended with CR: an LF right after it is part of that end.
    after_cr: bool,
    kind: String,
    data: String,
    last_id: String,
    pub comments: Vec<String>,
}

impl Parser {
    pub fn feed(&mut self, bytes: &[u8]) -> Vec<Event> {
        self.unread.extend_from_slice(bytes);
        let mut events = Vec::new();
        loop {
            if !self.has_begun {
                match self.unread.as_slice() {
                    [0xEF, 0xBB, 0xBF, ..] => drop(self.unread.drain(..3)),
                    [] | [0xEF] | [0xEF, 0xBB] => return events,
                    _ => {}
                }
                self.has_begun = true;
            }
            if self.after_cr && !self.unread.is_empty() {
                self.after_cr = false;
                if self.unread[0] == b'\n' {
                    self.unread.remove(0);
                }
            }
            let Some(end) = self.unread.iter().position(|byte| matches!(byte, b'\n' | b'\r')) else {
                return events;
            };
            let line: Vec<u8> = self.unread.drain(..=end).collect();
            self.after_cr = line.last() == Some(&b'\r');
            events.extend(self.take_line(&String::from_utf8_lossy(&line[..end])));
        }
    }

    fn take_line(&mut self, line: &str) -> Option<Event> {
        if line.is_empty() {
            return self.dispatch();
        }
        let (field, value) = line.split_once(':').unwrap_or((line, ""));
        let value = value.strip_prefix(' ').unwrap_or(value);
        match field {
            "" => self.comments.push(value.to_owned()),
            "event" => value.clone_into(&mut self.kind),
            "data" => {
                self.data.push_str(value);
                self.data.push('\n');
            }
            "id" if !value.contains('\0') => value.clone_into(&mut self.last_id),
            _ => {}
        }
        None
    }

    fn dispatch(&mut self) -> Option<Event> {
        let (kind, mut data) = (std::mem::take(&mut self.kind), std::mem::take(&mut self.data));
        // Every line of data ended with a break; the last one is not part of it. No line at all is no event.
        data.pop()?;
        Some(Event {
            kind: if kind.is_empty() {
                "message".to_owned()
            } else {
                kind
            },
            data,
            last_id: self.last_id.clone(),
        })
    }
}

/// An open stream.
pub struct Reader {
    pub response: Response,
    pub parser: Parser,
    events: VecDeque<Event>,
}

impl Reader {
    pub fn of(response: Response) -> Self {
        Self {
            response,
            parser: Parser::default(),
            events: VecDeque::new(),
        }
    }

    /// `None`: the stream has ended, or was cut.
    pub async fn next(&mut self) -> Option<Event> {
        while self.events.is_empty() {
            self.read().await?;
        }
        self.events.pop_front()
    }

    /// Waits for the next bytes, whatever they are.
    pub async fn read(&mut self) -> Option<()> {
        let came = tokio::time::timeout(NEXT_WITHIN, self.response.chunk()).await;
        let came = came.unwrap_or_else(|_| panic!("nothing came for {NEXT_WITHIN:?}"));
        let bytes = came.ok().flatten()?;
        self.events.extend(self.parser.feed(&bytes));
        Some(())
    }

    /// The next events, all of them entries.
    pub async fn entries(&mut self, count: usize) -> Vec<Value> {
        let mut entries = Vec::new();
        while entries.len() < count {
            let event = self.next().await;
            let event = event.unwrap_or_else(|| panic!("the stream ended after {} entries", entries.len()));
            assert_eq!(event.kind, "entry", "{event:?}");
            let entry = event.json();
            assert_eq!(entry["seq"], event.seq(), "{event:?}");
            entries.push(entry);
        }
        entries
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// `tests/data/sse/README.md` says where they come from. Each is fed whole, and byte by byte.
    #[test]
    fn the_vectors_read_however_they_are_cut() {
        let vectors: Value = serde_json::from_str(include_str!("../data/sse/vectors.json")).unwrap();
        let cases = vectors["cases"].as_array().unwrap();
        assert_eq!(cases.len(), 15);
        for case in cases {
            let (name, stream) = (&case[0], case[1].as_str().unwrap());
            let (mut whole, mut cut) = (Parser::default(), Parser::default());
            let at_once = whole.feed(stream.as_bytes());
            let byte_by_byte: Vec<_> = stream.bytes().flat_map(|byte| cut.feed(&[byte])).collect();
            assert_eq!(at_once, byte_by_byte, "{name}");
            let read: Vec<_> = at_once
                .iter()
                .map(|event| json!([event.kind, event.data, event.last_id]))
                .collect();
            assert_eq!(json!(read), case[2], "{name}");
        }
    }
}

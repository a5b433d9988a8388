//! Free texts of an act: put aside, so that they can be forgotten; the command holds their ids and salted hashes.

use super::command::new_id;
use super::machines::dto::NoteText;
use crate::book::PrivateRows;
use spindlebook_domain::ids::TextId;
use spindlebook_domain::note::NoteRef;
use spindlebook_store::private::PrivateText;

#[derive(Default)]
pub struct Noted {
    texts: Vec<PrivateText>,
}

impl Noted {
    pub fn add(&mut self, note: NoteText) -> NoteRef {
        let (id, salt) = (TextId(new_id()), rand::random());
        let reference = NoteRef::new(id, &salt, &note.0);
        self.texts.push(PrivateText {
            id,
            salt,
            body: Some(note.0),
            forgotten_at: None,
        });
        reference
    }

    pub fn private(self) -> PrivateRows {
        PrivateRows {
            texts: self.texts,
            account: None,
        }
    }
}

use crate::http::instant::Instant;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::ids::TextId;
use spindlebook_domain::note::NoteRef;
use spindlebook_store::private::PrivateText;
use utoipa::ToSchema;

/// A free text, as the entry of the ledger that names its id.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = StoredNote, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000f1", "text": "Coolant pump makes noise",
    "sha256": "00000000000000000000000000000000000000000000000000000000000000cc", "forgotten_at": null}))]
pub struct NoteDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: TextId,
    /// Null when it was forgotten.
    #[schema(value_type = Option<text::Note>)]
    pub text: Option<String>,
    /// Over the stored salt and text: the same as in the entry, or the text is not the one that was entered. Null when
    /// it was forgotten, because the salt went with the text.
    #[schema(min_length = 64, max_length = 64, pattern = "^[0-9a-f]{64}$")]
    pub sha256: Option<String>,
    /// Null as long as the text is there.
    #[schema(value_type = Option<text::Instant>)]
    pub forgotten_at: Option<Instant>,
}

impl From<PrivateText> for NoteDto {
    fn from(note: PrivateText) -> Self {
        let digest = |body: &String| NoteRef::new(note.id, &note.salt, body).sha256;
        Self {
            id: note.id,
            sha256: note.body.as_ref().map(digest),
            text: note.body,
            forgotten_at: note.forgotten_at.map(Instant),
        }
    }
}

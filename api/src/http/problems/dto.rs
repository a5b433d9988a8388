use crate::problem::CodeRow;
use serde::Serialize;
use utoipa::ToSchema;

/// What is fixed about a code.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ProblemCode, example = json!({
    "code": "machine.already-down", "type": "/problems/machine.already-down", "title": "Machine already down",
    "status": 409, "retryable": false, "meaning": "A rule forbids it as things stand."
}))]
pub struct ProblemCodeDto {
    #[schema(max_length = 80, pattern = r"^[a-z-]+\.[a-z0-9-]+$")]
    pub code: &'static str,
    /// The `type` of such a problem.
    #[schema(max_length = 100)]
    pub r#type: String,
    #[schema(max_length = 120)]
    pub title: String,
    #[schema(minimum = 400, maximum = 599)]
    pub status: u16,
    /// Whether the same request can succeed later without anybody changing it.
    pub retryable: bool,
    /// What its status means here.
    #[schema(max_length = 200)]
    pub meaning: &'static str,
}

/// Every code, by status and code.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{
    "code": "machine.already-down", "type": "/problems/machine.already-down", "title": "Machine already down",
    "status": 409, "retryable": false, "meaning": "A rule forbids it as things stand."
}]}))]
pub struct ProblemCodes {
    #[schema(max_items = 1_000)]
    pub items: Vec<ProblemCodeDto>,
}

impl From<CodeRow> for ProblemCodeDto {
    fn from(row: CodeRow) -> Self {
        Self {
            code: row.code,
            r#type: format!("/problems/{}", row.code),
            title: row.title,
            status: row.status,
            retryable: row.retryable,
            meaning: meaning_of(row.status),
        }
    }
}

const fn meaning_of(status: u16) -> &'static str {
    match status {
        400 => "The request cannot be right at any time; `errors` names the field and what would be right.",
        401 => "There is no access token, or one that does not hold.",
        403 => "None of the caller's roles may do this.",
        404 => "There is no such thing at this site.",
        409 => "A rule forbids it as things stand.",
        412 => "It was changed meanwhile: read it again, then change it.",
        422 => "The key was used for another request.",
        428 => "A change needs the version that it was made on.",
        429 | 503 => "Not now: send it again, under the same key, after the seconds in Retry-After.",
        500 => "A fault of the service; its log has it under the request's id.",
        _ => "The request is not taken in this form.",
    }
}

//! A form as it was sent: words and files by name.

use axum::extract::Multipart;

use crate::web::AppError;

/// What was sent.
#[derive(Debug, Default)]
pub(super) struct Parts {
    texts: Vec<(String, String)>,
    pub(super) files: Vec<SentFile>,
}

/// A file that was sent.
#[derive(Debug)]
pub(super) struct SentFile {
    /// Name of its field.
    pub(super) field: String,
    /// Name of the file itself.
    pub(super) name: String,
    pub(super) content: Vec<u8>,
}

impl Parts {
    /// Returns what was typed into a field; nothing for one that was not sent.
    pub(super) fn text(&self, field: &str) -> &str {
        self.texts.iter().find(|(name, _)| name == field).map_or("", |(_, text)| text)
    }

    pub(super) fn has(&self, field: &str) -> bool {
        self.texts.iter().any(|(name, _)| name == field)
    }

    pub(super) fn file(&self, field: &str) -> Option<&SentFile> {
        self.files.iter().find(|file| file.field == field)
    }
}

/// Reads all parts of a form; a field of files left empty is none.
pub(super) async fn parts(mut sent: Multipart) -> Result<Parts, AppError> {
    let unread = |error: axum::extract::multipart::MultipartError| {
        AppError::BadRequest(format!(
            "What was sent could not be read ({}). The files of one form may have 64 MB together.",
            error.body_text()
        ))
    };
    let mut parts = Parts::default();
    while let Some(part) = sent.next_field().await.map_err(unread)? {
        let field = part.name().unwrap_or_default().to_owned();
        match part.file_name().map(str::to_owned) {
            Some(name) => {
                let content = part.bytes().await.map_err(unread)?.to_vec();
                if !(name.is_empty() && content.is_empty()) {
                    parts.files.push(SentFile { field, name, content });
                }
            }
            None => parts.texts.push((field, part.text().await.map_err(unread)?)),
        }
    }
    Ok(parts)
}

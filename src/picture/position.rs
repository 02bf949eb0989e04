//! A picture without its position.

/// A picture that may tell where it was taken, and that nothing can be taken out of surely.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("it may tell where it was taken, and that can't be taken out: {why}")]
pub struct NotTaken {
    /// Why.
    pub why: String,
}

/// The bytes of a picture without its position, of the same length and with the image itself
/// untouched; nothing where it tells none, or is no picture.
///
/// # Errors
/// When it may tell a position that can't be taken out: such a picture is left out.
pub fn without_position(bytes: &[u8]) -> Result<Option<Vec<u8>>, NotTaken> {
    if crate::picture::Picture::of_bytes(bytes).position {
        return Err(NotTaken {
            why: "not yet".to_owned(),
        });
    }
    Ok(None)
}

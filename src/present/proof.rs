//! What speaks against a piece by itself, wherever it goes: that nobody has proved it, or
//! that it is not what the build wants.

use super::Piece;
use crate::model::build::Policy;
use crate::model::common::{Condition, Newness};
use crate::near::spoken;

/// Why a piece is unproven, in words that follow its name and "and"; none if it is proven.
///
/// What is new proves itself until somebody says otherwise.
#[must_use]
pub fn unproven(piece: &Piece<'_>) -> Option<&'static str> {
    match (piece.record.condition, piece.record.newness) {
        (Some(Condition::Unchecked), _) => Some("nobody has looked at it yet"),
        (Some(_), _) | (None, Some(Newness::New)) => None,
        (None, _) => Some("its condition is not stated"),
    }
}

/// What a build's policy has against a piece, in words; none where it wants such a piece,
/// or nothing in particular, or where the piece does not say what it is.
#[must_use]
pub fn off_policy(piece: &Piece<'_>, policy: &Policy) -> Option<String> {
    let unlike = |is: Option<&'static str>, wanted: &[&str], what: &str| {
        let is = is.filter(|is| !wanted.is_empty() && !wanted.contains(is))?;
        Some(format!(
            "{what} {is}, where the build wants {}",
            spoken(wanted, "or")
        ))
    };
    let grades: Vec<&str> = policy.grade.iter().map(|grade| grade.word()).collect();
    let newness: Vec<&str> = policy
        .newness
        .iter()
        .map(|newness| newness.word())
        .collect();
    let record = piece.record;
    let grade = unlike(
        record.grade.map(|grade| grade.word()),
        &grades,
        "its grade is",
    );
    let newness = unlike(
        record.newness.map(|newness| newness.word()),
        &newness,
        "it is",
    );
    match (grade, newness) {
        (Some(grade), Some(newness)) => Some(format!("{grade}, and {newness}")),
        (grade, newness) => grade.or(newness),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::part;

    fn tell<T>(record: serde_json::Value, tell: impl Fn(&Piece<'_>) -> T) -> T {
        let record: part::Piece = serde_json::from_value(record).unwrap();
        tell(&Piece {
            part: "pump",
            of: &part::Part::default(),
            mark: "P1",
            record: &record,
            file: 0,
            stays: Vec::new(),
            events: Vec::new(),
            away: None,
        })
    }

    #[test]
    fn what_is_new_proves_itself() {
        for (record, is_unproven) in [
            (serde_json::json!({}), true),
            (serde_json::json!({"newness": "old stock"}), true),
            (serde_json::json!({"newness": "new"}), false),
            (
                serde_json::json!({"newness": "new", "condition": "unchecked"}),
                true,
            ),
            (
                serde_json::json!({"newness": "used", "condition": "serviceable"}),
                false,
            ),
            (serde_json::json!({"condition": "scrap"}), false),
        ] {
            let said = record.to_string();
            assert_eq!(tell(record, unproven).is_some(), is_unproven, "{said}");
        }
    }

    #[test]
    fn a_policy_speaks_only_of_what_is_known() {
        let policy: Policy = serde_json::from_value(
            serde_json::json!({"grade": ["genuine", "maker's supplier"], "newness": ["new"]}),
        )
        .unwrap();
        let against = |record| tell(record, |piece| off_policy(piece, &policy));
        assert_eq!(against(serde_json::json!({})), None);
        assert_eq!(
            against(serde_json::json!({"grade": "genuine", "newness": "new"})),
            None
        );
        assert_eq!(
            against(serde_json::json!({"grade": "aftermarket", "newness": "used"})).as_deref(),
            Some(
                "its grade is aftermarket, where the build wants genuine or maker's supplier, \
                 and it is used, where the build wants new"
            )
        );
        let nothing = Policy::default();
        let record = serde_json::json!({"grade": "aftermarket", "newness": "used"});
        assert_eq!(tell(record, |piece| off_policy(piece, &nothing)), None);
    }
}

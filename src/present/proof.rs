//! What speaks against a piece by itself, wherever it goes: that nobody has proved it, or
//! that it is not what the build wants.

use super::Piece;
use crate::model::build::Policy;
use crate::model::common::{Condition, Newness};
use crate::near::spoken;

/// Why a piece is unproven, in words that follow its name and "and"; none if it is proven.
///
/// What never ran has no history to be proved: only what is used, or comes from a donor
/// and does not say that it is not used, wants a word on its condition.
#[must_use]
pub fn unproven(piece: &Piece<'_>) -> Option<&'static str> {
    let record = piece.record;
    match (record.condition, record.newness, &record.donor) {
        (Some(Condition::Unchecked), ..) => Some("nobody has looked at it yet"),
        (None, Some(Newness::Used), _) | (None, None, Some(_)) => {
            Some("its condition is not stated")
        }
        _ => None,
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
    fn what_never_ran_has_nothing_to_prove() {
        for (record, is_unproven) in [
            (serde_json::json!({}), false),
            (serde_json::json!({"donor": "van"}), true),
            (serde_json::json!({"newness": "used"}), true),
            (serde_json::json!({"donor": "van", "newness": "new"}), false),
            (serde_json::json!({"newness": "old stock"}), false),
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

//! A decision: what was chosen and why, and which conflicts it settles.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    AnyRef, Day, DecisionRef, Name, OwnOption, Person, PhotoRef, RuleRef, Stage, words,
};

/// What was chosen and why, and which conflicts it settles.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["asks"]))]
pub struct Decision {
    /// The question.
    pub asks: String,
    /// What it is about.
    pub about: Vec<AnyRef>,
    /// The ways it could go, by name.
    pub options: BTreeMap<Name, ChoiceOption>,
    /// Whether it is made.
    pub state: Option<DecisionState>,
    /// The option that was chosen.
    pub chosen: Option<OwnOption>,
    /// The reason, in a sentence.
    pub because: Option<String>,
    /// The day.
    pub when: Option<Day>,
    /// Who decided.
    pub by: Option<Person>,
    /// The earlier decision that this one overturns.
    pub instead_of: Option<DecisionRef>,
    /// The conflicts that it settles.
    pub settles: Vec<Settlement>,
    /// Pictures.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

impl Decision {
    /// Whether it is made: it says so, or it names what was chosen and says nothing else.
    #[must_use]
    pub fn is_made(&self) -> bool {
        match self.state {
            Some(state) => state == DecisionState::Chosen,
            None => self.chosen.is_some(),
        }
    }
}

words! {
    /// Whether a decision is made.
    DecisionState {
        /// still to be made
        Open = "open",
        /// made
        Chosen = "chosen",
        /// taken back
        Withdrawn = "withdrawn",
    }
}

/// One way that a decision could go.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChoiceOption {
    /// What speaks for it.
    #[serde(rename = "for")]
    pub for_: Vec<String>,
    /// What speaks against it.
    pub against: Vec<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A conflict that a decision settles: this rule, at this spot, until this stage.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["rule", "at"]))]
pub struct Settlement {
    /// The rule.
    pub rule: Option<RuleRef>,
    /// The spot.
    pub at: Option<AnyRef>,
    /// The stage at which it is a conflict again.
    pub until: Option<Stage>,
    /// Why, if not as the decision says.
    pub because: Option<String>,
}

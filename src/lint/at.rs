//! Where the things of the present state stand in the files, and what they are called in
//! a message.

use super::{Asked, Context};
use crate::finding::{Finding, Level, Place};
use crate::model::Kind;
use crate::model::common::Stage;
pub use crate::present::how;
use crate::present::joints::{Hole, Joint};
use crate::present::{Event, Piece, Present, Stay};
use crate::source::Span;
use crate::yaml::{Node, Step};

/// A run of text in a file of the folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// The number of the file.
    pub file: usize,
    /// Where in it.
    pub span: Span,
}

impl<'a> Context<'a> {
    /// The present state, worked out when a rule first asks for it.
    #[must_use]
    pub fn present(&self) -> &'a Present<'a> {
        match self.present {
            Asked::Known(present) => present,
            Asked::Late(late) => late.get_or_init(|| Present::of(self.folder)),
        }
    }

    /// Whether what is not there is missing. It may stand in a file that can't be read, or
    /// have gone to a place that is not there; that is told, and what follows from it not.
    #[must_use]
    pub fn knows_all(&self) -> bool {
        let kinds = [Kind::Build, Kind::Parts, Kind::Assemblies];
        kinds.iter().all(|kind| self.folder.is_whole(*kind)) && !self.present().astray
    }

    /// Where a value inside a record stands; the record's own id where nothing does.
    #[must_use]
    pub fn value_at(&self, kind: Kind, id: &str, way: &[Step]) -> Option<Spot> {
        self.spot(kind, id, way, false)
    }

    /// Where a key inside a record stands; the record's own id for an empty way.
    #[must_use]
    pub fn key_at(&self, kind: Kind, id: &str, way: &[Step]) -> Option<Spot> {
        self.spot(kind, id, way, true)
    }

    fn spot(&self, kind: Kind, id: &str, way: &[Step], key: bool) -> Option<Spot> {
        let record = *self.folder.spots(kind, id).first()?;
        let entry = self.folder.record(record)?;
        let file = record.file;
        let Some((last, before)) = way.split_last() else {
            let span = entry.key.span;
            return Some(Spot { file, span });
        };
        let holder = before.iter().try_fold(&entry.value, Node::step)?;
        let span = match last {
            Step::Key(name) if key => holder.entry(name)?.key.span,
            step => holder.step(step)?.span,
        };
        Some(Spot { file, span })
    }

    /// Where a value of `build.yaml` stands.
    #[must_use]
    pub fn build_at(&self, way: &[Step]) -> Option<Spot> {
        let file = self.folder.build_file()?;
        let (root, _) = self.folder.build()?;
        let span = way.iter().try_fold(root, Node::step)?.span;
        Some(Spot { file, span })
    }

    /// Where a piece's mark stands.
    #[must_use]
    pub fn piece_at(&self, piece: &Piece<'_>) -> Option<Spot> {
        self.key_at(
            Kind::Parts,
            piece.part,
            &["pieces".into(), piece.mark.into()],
        )
    }

    /// Where a field of a piece stands, or else its mark.
    #[must_use]
    pub fn in_piece_at(&self, piece: &Piece<'_>, way: &[Step]) -> Option<Spot> {
        let mut whole: Vec<Step> = vec!["pieces".into(), piece.mark.into()];
        whole.extend_from_slice(way);
        self.value_at(Kind::Parts, piece.part, &whole)
            .or_else(|| self.piece_at(piece))
    }

    /// Where it is written what place a piece is meant for, whether that can be read or not.
    #[must_use]
    pub fn goes_at(&self, piece: &Piece<'_>) -> Option<Spot> {
        let way = ["pieces".into(), piece.mark.into(), "goes".into()];
        self.value_at(Kind::Parts, piece.part, &way)
    }

    /// Where it is written that a piece is in a place, or planned for it.
    #[must_use]
    pub fn stay_at(&self, stay: &Stay) -> Option<Spot> {
        let piece = self.present().piece(stay);
        match (stay.event, stay.planned) {
            (Some(event), _) => self.in_piece_at(piece, &["fitted".into(), event.into()]),
            (None, Some(plan)) => self
                .value_at(
                    Kind::Parts,
                    piece.part,
                    &[
                        "pieces".into(),
                        piece.mark.into(),
                        "goes".into(),
                        plan.into(),
                    ],
                )
                .or_else(|| self.in_piece_at(piece, &["goes".into()])),
            (None, None) => self.piece_at(piece),
        }
    }

    /// Where an event of a piece stands.
    #[must_use]
    pub fn event_at(&self, event: &Event) -> Option<Spot> {
        let piece = &self.present().pieces[event.piece];
        self.in_piece_at(piece, &["fitted".into(), event.number.into()])
    }

    /// Where a place stands in its assembly.
    #[must_use]
    pub fn place_at(&self, place: usize) -> Option<Spot> {
        let place = &self.present().places[place];
        let assembly = self.present().assemblies[place.assembly].id;
        self.key_at(
            Kind::Assemblies,
            assembly,
            &["places".into(), place.key.into()],
        )
    }

    /// Where a field of what has a name in an assembly stands, or else that name.
    fn in_named_at(&self, assembly: &str, name: &[Step], way: &[Step]) -> Option<Spot> {
        let whole: Vec<Step> = name.iter().chain(way).cloned().collect();
        let value = || self.value_at(Kind::Assemblies, assembly, &whole);
        let value = (!way.is_empty()).then(value).flatten();
        value.or_else(|| self.key_at(Kind::Assemblies, assembly, name))
    }

    /// Where a field of a joint stands, or else the joint's name.
    #[must_use]
    pub fn in_joint_at(&self, joint: &Joint<'_>, way: &[Step]) -> Option<Spot> {
        let assembly = self.present().assemblies[joint.assembly].id;
        let name: [Step; 2] = ["joints".into(), joint.key.into()];
        self.in_named_at(assembly, &name, way)
    }

    /// Where a field of a hole stands, or else the hole's name.
    #[must_use]
    pub fn in_hole_at(&self, joint: &Joint<'_>, hole: &Hole<'_>, way: &[Step]) -> Option<Spot> {
        let assembly = self.present().assemblies[joint.assembly].id;
        let name: [Step; 4] = [
            "joints".into(),
            joint.key.into(),
            "holes".into(),
            hole.name.into(),
        ];
        self.in_named_at(assembly, &name, way)
    }

    /// Where a field of the last tightening of a hole stands, or else that tightening, or
    /// else the hole's name.
    #[must_use]
    pub fn in_done_at(&self, joint: &Joint<'_>, hole: &Hole<'_>, way: &[Step]) -> Option<Spot> {
        let Some((number, _)) = hole.standing else {
            return self.in_hole_at(joint, hole, &[]);
        };
        let done: [Step; 2] = ["done".into(), number.into()];
        let whole: Vec<Step> = done.iter().chain(way).cloned().collect();
        let at = self.in_hole_at(joint, hole, &whole);
        let name = self.in_hole_at(joint, hole, &[]);
        if at == name {
            self.in_hole_at(joint, hole, &done)
        } else {
            at
        }
    }

    /// Where a field of a fastener stands, or else its id.
    #[must_use]
    pub fn in_fastener_at(&self, id: &str, way: &[Step]) -> Option<Spot> {
        self.value_at(Kind::Fasteners, id, way)
            .or_else(|| self.key_at(Kind::Fasteners, id, &[]))
    }

    /// Where a field of a line of a job stands, or else the line, or else the job's id.
    #[must_use]
    pub fn in_line_at(&self, job: &str, line: usize, way: &[Step]) -> Option<Spot> {
        let line: [Step; 2] = ["lines".into(), line.into()];
        let whole: Vec<Step> = line.iter().chain(way).cloned().collect();
        self.value_at(Kind::Jobs, job, &whole)
            .or_else(|| self.value_at(Kind::Jobs, job, &line))
            .or_else(|| self.key_at(Kind::Jobs, job, &[]))
    }

    /// Where it is written that an assembly is closed now.
    #[must_use]
    pub fn closing_at(&self, assembly: usize) -> Option<Spot> {
        let assembly = &self.present().assemblies[assembly];
        let mut closed = assembly.record.closed.iter();
        let number = closed.position(|closing| closing.until.is_none())?;
        self.value_at(
            Kind::Assemblies,
            assembly.id,
            &["closed".into(), number.into()],
        )
    }

    /// A new finding of this rule at a spot; none where the spot can't be found, because a
    /// file that can't be read is told as such.
    #[must_use]
    pub fn finding_in(
        &self,
        spot: Option<Spot>,
        message: String,
        remedy: impl Into<String>,
    ) -> Option<Finding> {
        let spot = spot?;
        Some(self.finding(spot.file, spot.span, message, remedy.into()))
    }

    /// A spot as a place for people.
    #[must_use]
    pub fn shown(&self, spot: Spot) -> Place {
        self.folder.place(spot.file, spot.span)
    }
}

impl Finding {
    /// The same with another spot, where there is one.
    #[must_use]
    pub fn see_at(self, cx: &Context<'_>, spot: Option<Spot>, message: impl Into<String>) -> Self {
        match spot {
            Some(spot) => self.see(cx.shown(spot), message),
            None => self,
        }
    }

    /// The same, as a conflict of a stage: `light` until a claim is made, an error then.
    #[must_use]
    pub fn by_claim(mut self, claim: Stage, light: Level) -> Self {
        self.stage = Some(claim);
        self.level = if claim == Stage::Final {
            Level::Error
        } else {
            light
        };
        self
    }
}

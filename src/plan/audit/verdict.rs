//! Verdicts: which rule is broken, by whom, with the slots that show it.
//!
//! Facts only; sentences for people are made elsewhere.

use crate::plan::model::{Slot, Space};

/// A half-open stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First slot inside.
    pub from: Slot,
    /// First slot after it.
    pub until: Slot,
}

impl Span {
    /// Returns the stretch that begins at `from` and lasts `length`. [slots]
    pub fn new(from: Slot, length: Slot) -> Span {
        Span {
            from,
            until: from + length,
        }
    }
}

/// A broken rule with its facts.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Broken {
    /// R0: instance or timing make no sense there.
    Senseless(Fault),
    /// R1: a session's setup is not inside one stretch of work hours.
    SetupOutsideWork {
        /// Index of the session.
        session: usize,
        /// The setup.
        at: Span,
    },
    /// R2: too many sessions start on a day.
    TooManySessions {
        /// The day, from 0.
        day: i64,
        /// Sessions that start on it.
        count: i64,
        /// Sessions that may.
        max: i64,
    },
    /// R3: coating is not inside one stretch of work hours.
    CoatingOutsideWork {
        /// The lot.
        lot: String,
        /// The coating.
        at: Span,
    },
    /// R4: it is coated before its material is there.
    CoatedBeforeRelease {
        /// The lot.
        lot: String,
        /// Start of coating.
        coat: Slot,
        /// First slot with material.
        release: Slot,
    },
    /// R5: it is coated while its mix does not live, or out of no mix at all.
    CoatedOutsideMix {
        /// The lot.
        lot: String,
        /// Index of the session that it names.
        session: usize,
        /// The coating.
        at: Span,
        /// The life of that mix; none if there is no such session.
        life: Option<Span>,
    },
    /// R6: no row, or more than one, of its class admits this start.
    ExposedOutsideWindow {
        /// The lot.
        lot: String,
        /// Start of the exposure.
        expose: Slot,
    },
    /// R7: it is loaded before it is dry.
    LoadedWet {
        /// The lot.
        lot: String,
        /// Start of loading.
        load: Slot,
        /// When it is dry.
        dry: Slot,
    },
    /// R8: it waited in the dark longer than a dry coat keeps.
    KeptTooLong {
        /// The lot.
        lot: String,
        /// Start of loading.
        load: Slot,
        /// Last good start of loading.
        keep_until: Slot,
    },
    /// R9: nobody is there for its frame.
    FrameOutsideWork {
        /// The lot.
        lot: String,
        /// What a person was to do.
        work: FrameWork,
        /// When.
        at: Span,
    },
    /// R10: the wash begins before unloading ends, or too long after.
    WashedAtWrongTime {
        /// The lot.
        lot: String,
        /// Start of the wash.
        wash: Slot,
        /// First good start.
        earliest: Slot,
        /// Last good start; none for a lot that waits since before the plan.
        latest: Option<Slot>,
    },
    /// R11: washing is not inside one stretch of work hours.
    WashingOutsideWork {
        /// The lot.
        lot: String,
        /// The wash.
        at: Span,
    },
    /// R12: it is finished before it is dry and its colour is there.
    FinishedTooEarly {
        /// The lot.
        lot: String,
        /// Start of finishing.
        finish: Slot,
        /// First good start.
        earliest: Slot,
    },
    /// R13: finishing is not inside one stretch of work hours.
    FinishingOutsideWork {
        /// The lot.
        lot: String,
        /// The finishing.
        at: Span,
    },
    /// R14: a lot is finished, or an order handed over, after the horizon.
    EndsAfterHorizon {
        /// The lot or the order.
        of: String,
        /// Its end.
        end: Slot,
        /// The horizon.
        horizon: Slot,
    },
    /// R15: packing is not inside one stretch of work hours.
    PackingOutsideWork {
        /// The order.
        order: String,
        /// The packing.
        at: Span,
    },
    /// R16: it is packed before one of its lots is finished.
    PackedBeforeFinished {
        /// The order.
        order: String,
        /// The lot that is not ready.
        lot: String,
        /// Start of packing.
        pack: Slot,
        /// End of the lot's finishing; none if it has none that holds.
        finished: Option<Slot>,
    },
    /// R16: it is packed before something of it is finished that was begun before.
    PackedBeforeRelease {
        /// The order.
        order: String,
        /// Start of packing.
        pack: Slot,
        /// First slot at which it may be.
        release: Slot,
    },
    /// R17: no collection comes after it is packed.
    NeverCollected {
        /// The order.
        order: String,
        /// End of packing.
        packed: Slot,
    },
    /// R18: more is in a place than there are places; the first slot of it.
    OverCapacity {
        /// The place.
        resource: Resource,
        /// First slot at which it is too full.
        at: Slot,
        /// Places taken then.
        taken: i64,
        /// Places that there are.
        places: i64,
        /// Who is there then, by name.
        by: Vec<String>,
    },
}

impl Broken {
    /// Returns the number of the rule, 0 to 18.
    pub fn rule(&self) -> u8 {
        match self {
            Broken::Senseless(_) => 0,
            Broken::SetupOutsideWork { .. } => 1,
            Broken::TooManySessions { .. } => 2,
            Broken::CoatingOutsideWork { .. } => 3,
            Broken::CoatedBeforeRelease { .. } => 4,
            Broken::CoatedOutsideMix { .. } => 5,
            Broken::ExposedOutsideWindow { .. } => 6,
            Broken::LoadedWet { .. } => 7,
            Broken::KeptTooLong { .. } => 8,
            Broken::FrameOutsideWork { .. } => 9,
            Broken::WashedAtWrongTime { .. } => 10,
            Broken::WashingOutsideWork { .. } => 11,
            Broken::FinishedTooEarly { .. } => 12,
            Broken::FinishingOutsideWork { .. } => 13,
            Broken::EndsAfterHorizon { .. } => 14,
            Broken::PackingOutsideWork { .. } => 15,
            Broken::PackedBeforeFinished { .. } | Broken::PackedBeforeRelease { .. } => 16,
            Broken::NeverCollected { .. } => 17,
            Broken::OverCapacity { .. } => 18,
        }
    }
}

/// What a person does at a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FrameWork {
    /// Into the frame and out into the light.
    Loading,
    /// Out of the frame.
    Unloading,
    /// Both, and staying with it in between.
    Attending,
}

/// What there is a limited number of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Resource {
    /// People at work.
    Hands,
    /// The dark-dry rack of a space.
    Dark(Space),
    /// The wet-dry rack of a space.
    Open(Space),
    /// Wash trays.
    Trays,
    /// Frames of this name.
    Frame(String),
}

/// A step of a timing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Step {
    /// Setup of a coating session.
    Setup,
    /// Coating.
    Coat,
    /// The coating session that a lot names.
    Session,
    /// Exposing.
    Expose,
    /// Washing.
    Wash,
    /// Finishing.
    Finish,
    /// Packing.
    Pack,
}

/// What makes no sense (R0).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// A number is beyond 2³¹ in size; nothing else is judged.
    NumberOutOfRange {
        /// Where it stands: a field, or a lot, order or class by name.
        of: String,
        /// The number.
        value: i64,
    },
    /// A length, a count or a weight is negative; nothing else is judged.
    Negative {
        /// Where it stands.
        of: String,
        /// The number.
        value: i64,
    },
    /// A day without slots; nothing else is judged.
    NoSlotsInADay,
    /// A row of a class ends before it begins; nothing else is judged.
    RowBackwards {
        /// The class.
        class: String,
    },
    /// Two lots have one name; nothing else is judged.
    LotTwice {
        /// The name.
        lot: String,
    },
    /// Two orders have one name; nothing else is judged.
    OrderTwice {
        /// The name.
        order: String,
    },
    /// The frame of a lot that is still to be exposed is not in the list of
    /// frames; nothing else is judged.
    UnknownFrame {
        /// The lot.
        lot: String,
        /// The frame.
        frame: String,
    },
    /// The class of a lot that is still to be exposed is not in the list of
    /// classes; nothing else is judged.
    UnknownClass {
        /// The lot.
        lot: String,
        /// The index of the class.
        class: usize,
    },
    /// An order waits for a lot that does not exist; nothing else is judged.
    OrderOfUnknownLot {
        /// The order.
        order: String,
        /// The lot.
        lot: String,
    },
    /// The timing has a lot that the instance does not have.
    UnknownLot {
        /// The lot.
        lot: String,
    },
    /// The timing has an order that the instance does not have.
    UnknownOrder {
        /// The order.
        order: String,
    },
    /// A step that the lot needs has no time.
    MissingStep {
        /// The lot.
        lot: String,
        /// The step.
        step: Step,
    },
    /// A step that was done before the plan has a time again.
    NeedlessStep {
        /// The lot.
        lot: String,
        /// The step.
        step: Step,
    },
    /// A step starts before day 0.
    NegativeStart {
        /// The lot, the order or the session's index.
        of: String,
        /// The step.
        step: Step,
        /// Its start.
        at: Slot,
    },
}

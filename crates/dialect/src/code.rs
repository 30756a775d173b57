//! What words of a program can do.

/// What a G word does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GCode {
    /// Moves that follow are rapids.
    Rapid,
    /// Moves that follow are straight, at feed.
    Line,
    /// Arcs, clockwise seen against the axis of the plane.
    ArcClockwise,
    /// Arcs, counter-clockwise.
    ArcCounter,
    /// Dwell.
    Dwell,
    /// Arcs in XY, ZX or YZ: the index of the axis that stands on the plane.
    Plane(u8),
    /// Lengths are inches.
    Inch,
    /// Lengths are mm.
    Metric,
    /// To the reference point over the point of the block.
    Reference,
    /// To the second reference point, which is taken as the first and said so.
    SecondReference,
    /// Radius compensation off.
    RadiusOff,
    /// Radius compensation on: not followed, said so.
    RadiusOn,
    /// Length compensation on: words are the tip's already.
    LengthOn,
    /// Length compensation off.
    LengthOff,
    /// Tip control on.
    TipOn,
    /// Tip control off.
    TipOff,
    /// This block is in machine coordinates.
    MachineCoordinates,
    /// Program zero of this number, 1 for the first.
    WorkOffset(u8),
    /// Program zero shifted by the words of this block.
    LocalShift,
    /// The place where the machine stands gets the words of this block.
    SetPosition,
    /// The axes stand still at the end of this block.
    StopOnce,
    /// The axes stand still at the end of every block.
    StopAlways,
    /// Corners are driven through.
    Through,
    /// The plane's coordinates are turned.
    TurnOn,
    /// They are no longer turned, in the plane or in space.
    TurnOff,
    /// The coordinates are turned in space: about the point X, Y, Z of the block by I, J and K
    /// degrees about x, then y, then z of the frame that stands (fixed axes); Z of what follows is
    /// along the tool axis, and words are the tip.
    Tilt,
    /// A fixed cycle.
    Cycle(Cycle),
    /// No fixed cycle any more.
    CycleOff,
    /// The fixed cycle is run at the place of this block.
    CycleCall,
    /// Cycles retract to the level from which they began.
    ReturnFar,
    /// Cycles retract to the level of R.
    ReturnNear,
    /// Words are places.
    Absolute,
    /// Words are distances.
    Incremental,
    /// F is the time of a block, 1/min.
    InverseTime,
    /// F is mm/min.
    PerMinute,
    /// F is mm a revolution.
    PerRevolution,
    /// Runs a subprogram whose local variables are the letters of the block.
    MacroCall,
    /// Changes nothing that matters here.
    Nothing,
    /// Changes how the control drives, not the path; said so.
    Drives,
}

/// Fixed cycles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycle {
    /// Down at feed, up at rapid.
    Drill,
    /// The same with a dwell at the bottom.
    DrillDwell,
    /// In pecks, out of the hole after each.
    Peck,
    /// In pecks, a little back after each.
    ChipBreak,
    /// Tapping: in, spindle reversed, out.
    Tap,
    /// In and out at feed.
    Bore,
    /// In at feed, spindle stopped, out at rapid.
    BoreStop,
    /// In at feed, spindle oriented, off the wall by Q, out at rapid.
    BoreOrient,
    /// From below: through the hole beside the wall, up at feed.
    BoreBack,
    /// In at feed, dwell, spindle stopped, out by hand (taken as a rapid).
    BoreHand,
    /// In at feed, dwell, out at feed.
    BoreDwell,
}

/// What an M word does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MCode {
    /// Stop; restarted at once.
    Stop,
    /// End of the program.
    End,
    /// Spindle clockwise.
    SpindleClockwise,
    /// Spindle counter-clockwise.
    SpindleCounter,
    /// Spindle off.
    SpindleOff,
    /// Change to the tool of the last T word.
    ToolChange,
    /// Call of a subprogram.
    Call,
    /// End of a subprogram.
    Return,
    /// Tip control on.
    TipOn,
    /// Tip control off.
    TipOff,
    /// Coolant, clamps and the like: takes the time that the machine file gives it.
    Auxiliary,
}

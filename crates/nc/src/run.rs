//! Block after block: what is modal, what a block does and in which order, calls and the end.

use crate::arc::Plane;
use crate::block::{Block, bit};
use crate::calls::{Call, Spot};
use crate::codes::Codes;
use crate::cycle::Hole;
use crate::dialect::{Cycle, Dialect, GCode, MCode, Words};
use crate::fault::{Complaint, Fault, List, Topic, complaint};
use crate::frame::Map;
use crate::lexer::Lexer;
use crate::program::{Program, ReadOptions};
use crate::statement::JumpBack;
use crate::store::Store;
use crate::structure::Structure;
use crate::words::{CENTRE, FOREIGN, LINEAR, ROTARY};
use geom::Vec3;
use machine::track::{Frame, Place, Shape, Track};
use machine::{Kinematics, Machine, Mounting};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Faults after which reading stops.
const MOST_FAULTS: usize = 20;
/// Comments that are kept, and bytes of each.
const MOST_COMMENTS: usize = 500;
const LONGEST_COMMENT: usize = 120;
/// Words that a move has no use for.
const STRAY: u32 = bit(b'E') | bit(b'P') | bit(b'Q') | bit(b'L');
/// No machine tool reaches as far, mm: the longest have some tens of metres (common practice, no
/// source).
const FARTHEST_MM: f64 = 50_000.0;
/// No rotary axis is turned as often from its zero.
const MOST_TURNS: f64 = 1000.0;
/// A line counts as a block for each of its pieces of this length, bytes.
const LONG_LINE: usize = 512;

/// How the next axis words move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mode {
    None,
    Rapid,
    Line,
    Arc { clockwise: bool },
    Cycle(Cycle),
}

/// What F is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FeedMode {
    PerMinute,
    InverseTime,
    PerRevolution,
}

/// Everything modal.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub(crate) place: Place,
    /// The same in programmed coordinates, mm.
    pub(crate) programmed: Vec3,
    pub(crate) map: Map,
    /// Whether `map` is anything but the identity.
    pub(crate) mapped: bool,
    pub(crate) mode: Mode,
    /// The mode that a cycle replaced.
    pub(crate) mode_before: Mode,
    pub(crate) plane: Plane,
    pub(crate) inch: bool,
    pub(crate) incremental: bool,
    pub(crate) feed_mode: FeedMode,
    /// F as written, and with lengths in mm.
    pub(crate) feed: Option<f64>,
    pub(crate) feed_mm: f64,
    /// Spindle speed, negative where it turns counter-clockwise, and its S word.
    pub(crate) rpm: f64,
    pub(crate) speed_word: f64,
    pub(crate) tool: u16,
    pub(crate) next_tool: Option<u16>,
    pub(crate) frame: Frame,
    pub(crate) words: Words,
    pub(crate) stop_always: bool,
    pub(crate) stop_once: bool,
    pub(crate) zero: Option<u8>,
    pub(crate) return_near: bool,
    pub(crate) hole: Hole,
    /// What coordinates meant before they were turned in space.
    pub(crate) frame_before_tilt: Option<Frame>,
}

impl State {
    /// Programmed coordinates in those of the track.
    #[inline]
    pub(crate) fn out(&self, programmed: Vec3) -> Vec3 {
        if self.mapped { self.map.out(programmed) } else { programmed }
    }
}

/// A rotary axis of the machine.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rotary {
    pub(crate) letter: u8,
    pub(crate) direction: f64,
}

/// Reads a program.
pub(crate) struct Reader<'a> {
    pub(crate) bytes: &'a [u8],
    pub(crate) dialect: &'a Dialect,
    pub(crate) machine: &'a Machine,
    pub(crate) options: &'a ReadOptions,
    pub(crate) codes: Codes,
    pub(crate) kinematics: Kinematics,
    pub(crate) rotary: Vec<Rotary>,
    /// Letters of axes that the machine does not have.
    pub(crate) foreign: u32,
    pub(crate) state: State,
    pub(crate) track: Track,
    pub(crate) list: List,
    faults: Vec<Fault>,
    comments: Vec<(u32, String)>,
    blocks: u64,
    pub(crate) tools: Vec<u32>,
    pub(crate) calls: Vec<Call>,
    pub(crate) starts: Option<BTreeMap<u32, (Spot, bool)>>,
    /// Variables; `None`: the dialect has none.
    pub(crate) store: Option<Store>,
    pub(crate) structure: Option<Structure>,
    pub(crate) jump_back: JumpBack,
    /// Blocks that were run, long ones counted as several.
    spent: u64,
    /// A move goes where no machine reaches.
    pub(crate) beyond: bool,
    pub(crate) ended: bool,
}

/// What one block asks for beside what is modal.
#[derive(Debug, Default)]
pub(crate) struct Once {
    /// The code that takes the block's words for itself.
    pub(crate) takes: Option<GCode>,
    pub(crate) in_machine: bool,
    pub(crate) cycle_begins: bool,
    pub(crate) cycle_called: bool,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(
        bytes: &'a [u8],
        dialect: &'a Dialect,
        machine: &'a Machine,
        options: &'a ReadOptions,
    ) -> Self {
        let rotary: Vec<Rotary> = machine.axes[3..]
            .iter()
            .map(|axis| Rotary {
                letter: axis.name.letter().as_bytes()[0],
                direction: axis.direction,
            })
            .collect();
        let own = rotary.iter().fold(0, |bits, axis| bits | bit(axis.letter));
        let place = Place { linear: machine.reference_mm, rotary: [0.0; 2] };
        Self {
            bytes,
            dialect,
            machine,
            options,
            codes: Codes::of(dialect),
            kinematics: Kinematics::new(machine, &Mounting::default()),
            rotary,
            foreign: (ROTARY & !own) | FOREIGN,
            state: State {
                place,
                programmed: place.linear,
                map: Map::default(),
                mapped: false,
                mode: Mode::None,
                mode_before: Mode::None,
                plane: Plane::about(2),
                inch: false,
                incremental: false,
                feed_mode: FeedMode::PerMinute,
                feed: None,
                feed_mm: 0.0,
                rpm: 0.0,
                speed_word: 0.0,
                tool: 0,
                next_tool: None,
                frame: frame_of(dialect.words),
                words: dialect.words,
                stop_always: false,
                stop_once: false,
                zero: None,
                return_near: false,
                hole: Hole::default(),
                frame_before_tilt: None,
            },
            track: Track { start: place, ..Track::default() },
            list: List::default(),
            faults: Vec::new(),
            comments: Vec::new(),
            blocks: 0,
            tools: Vec::new(),
            calls: Vec::new(),
            starts: None,
            store: dialect.variables.clone().map(|rules| Store::new(rules, &options.variables)),
            structure: None,
            jump_back: JumpBack::default(),
            spent: 0,
            beyond: false,
            ended: false,
        }
    }

    pub(crate) fn read(mut self) -> Result<Program, Vec<Fault>> {
        if matches!(self.bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]) {
            return Err(vec![two_bytes_a_sign()]);
        }
        let mut lexer = Lexer::new(self.bytes, self.dialect);
        let mut block = Block { macro_word: self.codes.macro_call(), ..Block::default() };
        let mut begun = false;
        while !self.ended && self.faults.len() < MOST_FAULTS {
            let start = lexer.at;
            if !lexer.next(&mut block) {
                self.list.topic(Topic::CutOff, lexer.line, || cut_off("the file ends here"));
                break;
            }
            if let Some(fault) = block.fault.take() {
                self.refuse(fault);
                continue;
            }
            if block.comment.is_some() {
                self.comment(&block, start);
            }
            if block.tape && begun {
                self.list.topic(Topic::CutOff, block.line, || cut_off("the tape ends here"));
                break;
            }
            if block.program.is_some() && begun && !self.entered(&block) {
                self.list
                    .topic(Topic::CutOff, block.line, || cut_off("the next program begins here"));
                break;
            }
            let empty = block.is_empty() && block.statement.is_none() && block.computed.is_empty();
            begun |= !empty || block.program.is_some();
            if empty || (block.deletable && self.deleted(&block)) {
                continue;
            }
            self.blocks += 1;
            self.spent += 1 + ((lexer.at - start) / LONG_LINE) as u64;
            self.run(&mut block, start, &mut lexer);
            if self.beyond {
                self.out_of_reach(&block, start);
            }
            if self.spent >= self.options.most_blocks {
                self.endless(&block, start);
            }
        }
        self.finish()
    }

    /// Runs one block.
    #[inline]
    fn run(&mut self, block: &mut Block, start: usize, lexer: &mut Lexer<'_>) {
        if let Some(at) = block.statement {
            if let Err(wrong) = self.statement(block, start, at, lexer) {
                // what follows depends on it
                self.ended = true;
                self.refuse(wrong.fault(self.bytes, block));
            }
            return;
        }
        if !block.computed.is_empty()
            && let Err(wrong) = self.numbers(block)
        {
            return self.refuse(wrong.fault(self.bytes, block));
        }
        let done = if block.calls_macro {
            self.before_macro(block).and_then(|()| self.call_macro(block, lexer))
        } else {
            self.execute(block).and_then(|()| self.flow(block, start, lexer))
        };
        if let Err(complaint) = done {
            self.fault(block, start, complaint);
        }
    }

    /// The other G words of a block that calls a macro.
    #[cold]
    fn before_macro(&mut self, block: &Block) -> Result<(), Complaint> {
        let mut once = Once::default();
        self.g_words(block, &mut once)?;
        if once.in_machine || once.cycle_begins || once.cycle_called {
            return Err(complaint(
                b'G',
                "a macro call beside a G word that needs words of its own",
                "a block of its own for each",
                "divide the block",
            ));
        }
        Ok(())
    }

    /// Keeps a fault, once for each place.
    #[cold]
    fn refuse(&mut self, fault: Fault) {
        let known = |f: &Fault| (f.line, f.column) == (fault.line, fault.column);
        if !self.faults.iter().any(known) {
            self.faults.push(fault);
        }
    }

    fn finish(self) -> Result<Program, Vec<Fault>> {
        if !self.faults.is_empty() {
            return Err(self.faults);
        }
        Ok(Program {
            track: self.track,
            blocks: self.blocks,
            unread: self.list.finish(),
            comments: self.comments,
            tools: self.tools,
        })
    }

    /// Whether the program number in this block is the one that was just called.
    fn entered(&self, block: &Block) -> bool {
        self.calls.last().is_some_and(|call| call.start.line == block.line)
    }

    fn deleted(&mut self, block: &Block) -> bool {
        let on = self.options.block_delete;
        self.list.topic(Topic::BlockDelete, block.line, || {
            let why = if on {
                "blocks with a block delete are left out: the switch is taken as on"
            } else {
                "blocks with a block delete are run: the switch is taken as off"
            };
            ("/".into(), why.into())
        });
        on
    }

    fn fault(&mut self, block: &Block, start: usize, complaint: Complaint) {
        let Complaint { letter, message, expected, remedy } = complaint;
        let line = &self.bytes[start..];
        let line = &line[..line.iter().position(|b| *b == b'\n').unwrap_or(line.len())];
        let blanks = line.iter().take_while(|b| b.is_ascii_whitespace()).count();
        let at = line.iter().position(|b| b.to_ascii_uppercase() == letter).unwrap_or(blanks);
        let column = crate::lexer::column(self.bytes, start + at);
        self.refuse(Fault { line: block.line, column, message, expected, remedy });
    }

    /// Refuses a block whose place or circle lies out of the reach of any machine.
    #[cold]
    fn out_of_reach(&mut self, block: &Block, start: usize) {
        self.beyond = false;
        let axes = b"XYZABCIJKR".iter().copied();
        let far = |l: &u8| block.get(*l).is_some_and(|v| v.abs() > FARTHEST_MM || !v.is_finite());
        let letter = axes.filter(|l| block.has(*l)).max_by_key(far).unwrap_or(b'G');
        let metres = FARTHEST_MM / 1000.0;
        let message = format!(
            "a move leads more than {metres} m away, or turns more than {MOST_TURNS} times"
        );
        let remedy = "correct the word: a point may be missing, or the unit be another";
        self.fault(block, start, complaint(letter, message, "a place on the machine", remedy));
        self.ended = true;
    }

    fn endless(&mut self, block: &Block, start: usize) {
        let most = self.options.most_blocks;
        let message = format!("the program has run {most} blocks and goes on");
        let remedy = "end the calls and loops that never come to an end, or audit its parts";
        self.fault(block, start, complaint(b'M', message, "a program that ends", remedy));
        self.ended = true;
    }

    #[cold]
    fn comment(&mut self, block: &Block, start: usize) {
        let Some(range) = block.comment.clone() else { return };
        if block.open_comment {
            self.list.topic(Topic::OpenComment, block.line, || {
                let why =
                    "the comment has no end on its line: the rest of the line is taken for it";
                ("(".into(), why.into())
            });
        }
        if self.comments.len() < MOST_COMMENTS {
            let text = &self.bytes[range.start..range.end.min(range.start + LONGEST_COMMENT)];
            self.comments.push((block.line, String::from_utf8_lossy(text).trim().to_owned()));
        }
        let text: Vec<u8> = self.bytes[range]
            .iter()
            .take(64)
            .filter(|b| !b.is_ascii_whitespace())
            .map(u8::to_ascii_uppercase)
            .collect();
        let words = match text.as_slice() {
            b"WORDS=AXES" => Words::Axes,
            b"WORDS=TIP" => Words::Tip,
            _ => return,
        };
        if !self.track.moves.is_empty() && words != self.state.words {
            let refused = complaint(
                b'(',
                "what the words are is said after the first move",
                "(WORDS=AXES) or (WORDS=TIP) before it",
                "move the comment to the top of the program",
            );
            return self.fault(block, start, refused);
        }
        self.state.words = words;
        self.state.frame = frame_of(words);
    }

    /// Everything in the block but calls and the end.
    #[inline]
    fn execute(&mut self, block: &Block) -> Result<(), Complaint> {
        let mut once = Once::default();
        self.state.stop_once = false;
        if block.g_count > 0 {
            self.g_words(block, &mut once)?;
        }
        if block.present & self.foreign != 0 && once.takes != Some(GCode::Dwell) {
            self.known_axes(block)?;
        }
        if block.has(b'F') && once.takes != Some(GCode::Dwell) {
            self.take_feed(block)?;
        }
        if block.has(b'S') || block.has(b'T') || block.m_count > 0 {
            self.before_motion(block)?;
        }
        self.motion(block, &once)?;
        if block.m_count > 0 {
            self.after_motion(block);
        }
        Ok(())
    }

    #[inline]
    fn motion(&mut self, block: &Block, once: &Once) -> Result<(), Complaint> {
        match once.takes {
            Some(GCode::Dwell) => return self.dwell(block),
            Some(GCode::Reference) => return self.reference(block),
            Some(GCode::LocalShift) => {
                self.local_shift(block);
                return Ok(());
            }
            Some(GCode::SetPosition) => {
                self.set_position(block);
                return Ok(());
            }
            Some(GCode::TurnOn) => return self.turn_on(block),
            Some(GCode::Tilt) => return self.tilt_on(block),
            _ => {}
        }
        if once.in_machine {
            return self.in_machine(block);
        }
        if let Mode::Cycle(cycle) = self.state.mode {
            return self.hole(block, cycle, once.cycle_begins);
        }
        if once.cycle_begins {
            return self.define_cycle(block);
        }
        if once.cycle_called {
            if let Some(cycle) = self.state.hole.defined {
                return self.hole(block, cycle, false);
            }
            return Err(complaint(
                b'G',
                "a cycle is called, but none holds",
                "a cycle (G81 to G89) before it",
                "define the cycle first",
            ));
        }
        let arc_words = CENTRE | bit(b'R');
        let arc = matches!(self.state.mode, Mode::Arc { .. });
        let moves = if arc { LINEAR | ROTARY | arc_words } else { LINEAR | ROTARY };
        if !block.any(moves) {
            self.left_over(block, STRAY | bit(b'R') | CENTRE);
            return Ok(());
        }
        self.go(block)?;
        if block.any(STRAY) {
            self.left_over(block, STRAY);
        }
        Ok(())
    }

    /// Words of `letters` that no part of the block uses.
    #[cold]
    fn left_over(&mut self, block: &Block, letters: u32) {
        let drives = |g: &u16| self.codes.g(*g) == Some(GCode::Drives);
        if block.g().iter().any(drives) {
            return;
        }
        let called = block.m().iter().any(|m| self.codes.m(*m) == Some(MCode::Call));
        let mut stray = block.present & letters;
        if called || stray == 0 {
            return;
        }
        while stray != 0 {
            let letter = b'A' + stray.trailing_zeros() as u8;
            self.list.word(block.line, block.word(letter), "nothing in its block uses this word");
            stray &= stray - 1;
        }
    }
}

pub(crate) fn frame_of(words: Words) -> Frame {
    match words {
        Words::Tip => Frame::Tip,
        Words::Axes => Frame::Axes,
    }
}

/// Whether a machine could be there.
#[inline]
pub(crate) fn within_reach(to: &Place, shape: &Shape) -> bool {
    let near = |v: Vec3| v.abs().max_element() <= FARTHEST_MM;
    let centred = match shape {
        Shape::Line => true,
        Shape::Arc { centre, .. } => near(*centre),
    };
    centred && near(to.linear) && to.rotary.iter().all(|turn| turn.abs() <= MOST_TURNS * TAU)
}

/// The file is text of another kind.
fn two_bytes_a_sign() -> Fault {
    Fault {
        line: 1,
        column: 1,
        message: "the file is text with two bytes for each sign (UTF-16)".into(),
        expected: "plain text with one byte for each sign".into(),
        remedy: "save the program as plain text (ASCII or UTF-8)".into(),
    }
}

fn cut_off(what: &str) -> (String, String) {
    ("end".into(), format!("{what} without M30 or M2: was the program cut off?"))
}

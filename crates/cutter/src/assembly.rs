//! The cutter in its holder: neck, shank and holder as bodies of revolution on one axis.

use crate::body::Cutter;
use crate::distance::Kernel;
use crate::error::CutterError;
use crate::profile::{Element, Profile};
use crate::spec::CutterSpec;

/// What a body of the assembly is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BodyKind {
    /// The cutting part: tip to end of flutes.
    Cutting,
    /// The neck behind the flutes.
    Neck,
    /// The shank between neck (or flutes) and holder.
    Shank,
    /// The holder.
    Holder,
}

impl BodyKind {
    /// The word for it in messages.
    pub fn name(self) -> &'static str {
        match self {
            BodyKind::Cutting => "cutting part",
            BodyKind::Neck => "neck",
            BodyKind::Shank => "shank",
            BodyKind::Holder => "holder",
        }
    }
}

/// A cone or cylinder on the axis behind the flutes.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// What it is.
    pub kind: BodyKind,
    /// Height of its lower end over the tip, mm.
    pub z_lo_mm: f64,
    /// Height of its upper end over the tip, mm.
    pub z_hi_mm: f64,
    /// Radius at the lower end, mm.
    pub r_lo_mm: f64,
    /// Radius at the upper end, mm.
    pub r_hi_mm: f64,
    shape: Profile,
}

impl Body {
    /// A cone (a cylinder where the radii agree) between two heights over the tip, mm.
    pub fn new(kind: BodyKind, z_mm: (f64, f64), r_mm: (f64, f64)) -> Self {
        let bottom = ((0.0, z_mm.0), (r_mm.0, z_mm.0));
        let side = ((r_mm.0, z_mm.0), (r_mm.1, z_mm.1));
        let line = |(from_mm, to_mm): ((f64, f64), (f64, f64)), kappa_rad| {
            Element::Line(crate::profile::Line { from_mm, to_mm, kappa_rad })
        };
        let kappa = (z_mm.1 - z_mm.0).atan2(r_mm.1 - r_mm.0);
        let shape = Profile::new(&[line(bottom, 0.0), line(side, kappa)]);
        Self { kind, z_lo_mm: z_mm.0, z_hi_mm: z_mm.1, r_lo_mm: r_mm.0, r_hi_mm: r_mm.1, shape }
    }

    /// The body as a convex profile.
    pub fn shape(&self) -> &Profile {
        &self.shape
    }

    /// The body laid out for signed distances.
    pub fn kernel(&self) -> &Kernel {
        self.shape.kernel()
    }
}

/// A cutter in its holder at a stick-out.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembly {
    /// The cutter.
    pub cutter: Cutter,
    /// Length from the tip to the nose of the holder, mm.
    pub stickout_mm: f64,
    /// Bodies behind the flutes, from below.
    pub bodies: Vec<Body>,
    /// What a person should know: lengths that were assumed.
    pub notes: Vec<String>,
}

impl Assembly {
    /// Checks the numbers and lays out the bodies.
    ///
    /// # Errors
    /// As [`Cutter::new`].
    pub fn new(spec: &CutterSpec) -> Result<Self, CutterError> {
        let cutter = Cutter::new(spec)?;
        let mut notes = cutter.notes().to_vec();
        let top = spec.flute_length_mm.unwrap_or(cutter.profile().top_mm());
        let stickout_mm =
            spec.stickout_mm.unwrap_or_else(|| assumed_stickout(spec, top, &mut notes));
        let mut bodies = Vec::new();
        let mut z = top;
        if let Some(neck) = spec.neck_diameter_mm {
            let end = spec.usable_length_mm.unwrap_or(stickout_mm).min(stickout_mm);
            push(&mut bodies, BodyKind::Neck, (z, end), (0.5 * neck, 0.5 * neck));
            z = z.max(end);
        }
        let shank = 0.5 * spec.shank_diameter_mm.unwrap_or(spec.diameter_mm);
        push(&mut bodies, BodyKind::Shank, (z, stickout_mm), (shank, shank));
        z = z.max(stickout_mm);
        for s in &spec.holder {
            let hi = 0.5 * s.top_diameter_mm.unwrap_or(s.diameter_mm);
            push(&mut bodies, BodyKind::Holder, (z, z + s.length_mm), (0.5 * s.diameter_mm, hi));
            z += s.length_mm;
        }
        Ok(Self { cutter, stickout_mm, bodies, notes })
    }

    /// Largest radius of cutter, neck, shank and holder, mm.
    pub fn largest_radius_mm(&self) -> f64 {
        let bodies = self.bodies.iter().map(|b| b.r_lo_mm.max(b.r_hi_mm));
        bodies.fold(self.cutter.profile().largest_radius_mm(), f64::max)
    }

    /// Height of the topmost point over the tip, mm: from the tip to the spindle nose.
    pub fn top_mm(&self) -> f64 {
        self.bodies.last().map_or(self.cutter.profile().top_mm(), |b| b.z_hi_mm)
    }
}

fn push(bodies: &mut Vec<Body>, kind: BodyKind, z: (f64, f64), r: (f64, f64)) {
    if z.1 - z.0 > geom::tolerance::COINCIDENT_MM {
        bodies.push(Body::new(kind, z, r));
    }
}

/// Stick-out where none is given: as short as the neck allows, or half a diameter past the flutes.
fn assumed_stickout(spec: &CutterSpec, top: f64, notes: &mut Vec<String>) -> f64 {
    let shortest = spec.usable_length_mm.unwrap_or(top + 0.5 * spec.diameter_mm).max(top);
    let stickout = spec.overall_length_mm.map_or(shortest, |all| shortest.min(all));
    notes.push(format!("the stick-out is not given: {stickout:.3} mm assumed"));
    stickout
}

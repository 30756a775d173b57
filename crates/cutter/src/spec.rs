//! What a person says about a cutter: its form and its lengths.

/// The eight forms of cutting part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Form {
    /// Flat bottom, sharp corner, cylinder.
    Flat,
    /// Flat bottom, rounded corner, cylinder.
    CornerRadius,
    /// Half ball, cylinder.
    Ball,
    /// Ball tip, cone.
    TaperedBall,
    /// Corner below, flank arc past its belly at mid-flute.
    Barrel,
    /// Tip arc, flank arc that runs out in the cylinder.
    TangentBarrel,
    /// Tip arc, flank arc that ends in a cone.
    TaperBarrel,
    /// Bottom arc centred on the axis, corner, cylinder.
    Lens,
}

impl Form {
    /// All forms, in the order in which they are listed to people.
    pub const ALL: [Form; 8] = [
        Form::Flat,
        Form::CornerRadius,
        Form::Ball,
        Form::TaperedBall,
        Form::Barrel,
        Form::TangentBarrel,
        Form::TaperBarrel,
        Form::Lens,
    ];

    /// The word for it in files and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Form::Flat => "flat",
            Form::CornerRadius => "corner-radius",
            Form::Ball => "ball",
            Form::TaperedBall => "tapered-ball",
            Form::Barrel => "barrel",
            Form::TangentBarrel => "tangent-barrel",
            Form::TaperBarrel => "taper-barrel",
            Form::Lens => "lens",
        }
    }

    /// The form with that name.
    pub fn from_name(name: &str) -> Option<Form> {
        Form::ALL.into_iter().find(|f| f.name() == name)
    }

    /// Whether its profile has an arc far larger than the radius of the cutter.
    pub fn has_large_arc(self) -> bool {
        matches!(self, Form::Barrel | Form::TangentBarrel | Form::TaperBarrel | Form::Lens)
    }
}

/// One segment of a holder, from the nose up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HolderSegment {
    /// Diameter at its lower end, mm.
    pub diameter_mm: f64,
    /// Length along the axis, mm.
    pub length_mm: f64,
    /// Diameter at its upper end, mm; a cylinder if left out.
    pub top_diameter_mm: Option<f64>,
}

/// A cutter as people give it; what is left out is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct CutterSpec {
    /// Form of the cutting part.
    pub form: Form,
    /// Largest cutting diameter, mm (ISO 13399 DC).
    pub diameter_mm: f64,
    /// Radius of the large arc, mm.
    pub arc_radius_mm: Option<f64>,
    /// Radius of the corner or of the ball tip, mm (RE).
    pub corner_radius_mm: Option<f64>,
    /// Distance of the tip arc's centre from the axis, mm.
    pub corner_offset_mm: Option<f64>,
    /// Taper per side, rad.
    pub taper_rad: Option<f64>,
    /// Length of the flutes, mm (LCF).
    pub flute_length_mm: Option<f64>,
    /// Overall length, mm (OAL).
    pub overall_length_mm: Option<f64>,
    /// Diameter of the shank, mm (DCON).
    pub shank_diameter_mm: Option<f64>,
    /// Diameter of the neck behind the flutes, mm (DN).
    pub neck_diameter_mm: Option<f64>,
    /// Usable length from the tip to the end of the neck, mm (LU).
    pub usable_length_mm: Option<f64>,
    /// Length from the tip to the nose of the holder, mm.
    pub stickout_mm: Option<f64>,
    /// Number of teeth (ZEFP).
    pub teeth: Option<u32>,
    /// Helix angle, rad (FHA).
    pub helix_rad: Option<f64>,
    /// The holder, from its nose up.
    pub holder: Vec<HolderSegment>,
}

impl CutterSpec {
    /// A cutter of which only form and diameter are known.
    pub fn new(form: Form, diameter_mm: f64) -> Self {
        Self {
            form,
            diameter_mm,
            arc_radius_mm: None,
            corner_radius_mm: None,
            corner_offset_mm: None,
            taper_rad: None,
            flute_length_mm: None,
            overall_length_mm: None,
            shank_diameter_mm: None,
            neck_diameter_mm: None,
            usable_length_mm: None,
            stickout_mm: None,
            teeth: None,
            helix_rad: None,
            holder: Vec::new(),
        }
    }
}

//! The bridge: one call, plain data on both sides, no opaque objects.

#![allow(unsafe_code, reason = "the generated glue between Rust and C++ is unsafe by nature")]
#![allow(unreachable_pub, reason = "the bridge re-exports its items by itself")]

#[cxx::bridge(namespace = "shim")]
pub mod ffi {
    /// What is asked of the kernel.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Request {
        /// Chord height asked for along the borders of faces, mm.
        pub deflection_mm: f64,
        /// Chord height asked for inside of faces over that along their borders.
        pub inside_factor: f64,
        /// Chord height over the size of the part below which none is asked for.
        pub coarsest_share: f64,
        /// Largest turn of the normal over one triangle edge asked for, rad.
        pub angle_rad: f64,
        /// After this long the kernel is told to give up, s.
        pub time_limit_s: f64,
        /// Processor time that the trial in a process of its own may take, s.
        pub trial_cpu_s: f64,
        /// A part with a coordinate beyond this is refused, mm.
        pub largest_coordinate_mm: f64,
        /// Body (number in the order found) to mesh; negative: all of them.
        pub only_body: i32,
        /// Whether to mesh at all, or only to list bodies and faces.
        pub mesh: bool,
    }

    /// Origin and axes of a placement; the axes need not be right-handed.
    #[derive(Debug, Clone, Copy, PartialEq)]
    pub struct Frame {
        /// Origin, mm.
        pub origin: [f64; 3],
        /// First axis, unit.
        pub x: [f64; 3],
        /// Second axis, unit.
        pub y: [f64; 3],
        /// Third axis, unit: the axis of a body of revolution.
        pub z: [f64; 3],
    }

    /// Kind of a surface.
    #[derive(Debug)]
    #[repr(u8)]
    pub enum SurfaceKind {
        /// `O + u X + v Y`.
        Plane,
        /// `O + a (cos u X + sin u Y) + v Z`.
        Cylinder,
        /// `O + (a + v sin b)(cos u X + sin u Y) + v cos b Z`.
        Cone,
        /// `O + a cos v (cos u X + sin u Y) + a sin v Z`.
        Sphere,
        /// `O + (a + b cos v)(cos u X + sin u Y) + b sin v Z`.
        Torus,
        /// B-spline, rational where `weights` is not empty.
        Spline,
        /// `C(u) + v Z`, with the curve of index `curve`.
        Extrusion,
        /// `C(v)` turned by `u` about `O`, `Z`.
        Revolution,
        /// The surface of index `base` moved by `a` along `du × dv`.
        Offset,
    }

    /// Kind of a curve.
    #[derive(Debug)]
    #[repr(u8)]
    pub enum CurveKind {
        /// `O + t X`.
        Line,
        /// `O + a (cos t X + sin t Y)`.
        Circle,
        /// `O + a cos t X + b sin t Y`.
        Ellipse,
        /// `O + a cosh t X + b sinh t Y`.
        Hyperbola,
        /// `O + t²/(4 a) X + t Y`.
        Parabola,
        /// B-spline, rational where `weights` is not empty.
        Spline,
    }

    /// A curve that an extrusion or a revolution stands on.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Curve {
        /// Kind.
        pub kind: CurveKind,
        /// Placement, where the kind has one.
        pub frame: Frame,
        /// First size (see the kind), mm.
        pub a: f64,
        /// Second size (see the kind), mm.
        pub b: f64,
        /// Degree of a B-spline.
        pub degree: u32,
        /// Knots of a B-spline, repeated by multiplicity.
        pub knots: Vec<f64>,
        /// Poles, three numbers each, mm.
        pub poles: Vec<f64>,
        /// Weights, one for each pole, or none.
        pub weights: Vec<f64>,
        /// Period of the parameter, 0 without one.
        pub period: f64,
        /// Whether the definition approximates a curve of another kind.
        pub approximated: bool,
    }

    /// Full definition of a surface, its placement applied.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Surface {
        /// Kind.
        pub kind: SurfaceKind,
        /// Placement, where the kind has one.
        pub frame: Frame,
        /// First size (see the kind), mm.
        pub a: f64,
        /// Second size (see the kind), mm or rad.
        pub b: f64,
        /// Degree along u of a B-spline.
        pub degree_u: u32,
        /// Degree along v.
        pub degree_v: u32,
        /// Knots along u, repeated by multiplicity.
        pub knots_u: Vec<f64>,
        /// Knots along v, repeated by multiplicity.
        pub knots_v: Vec<f64>,
        /// Poles, three numbers each, v running fastest, mm.
        pub poles: Vec<f64>,
        /// Weights in the same order, or none.
        pub weights: Vec<f64>,
        /// Period along u, 0 without one.
        pub period_u: f64,
        /// Period along v, 0 without one.
        pub period_v: f64,
        /// Index into `Model::curves`, or -1.
        pub curve: i32,
        /// Index into `Model::surfaces`, or -1.
        pub base: i32,
        /// Whether the definition approximates a surface of another kind.
        pub approximated: bool,
    }

    /// One closed border of a face in its parameters.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Loop {
        /// Whether it is the outer one.
        pub outer: bool,
        /// Points, two numbers (u, v) each; the material lies to the left seen along `du × dv`.
        pub uv: Vec<f64>,
    }

    /// A placed body: a solid, or faces that belong to none.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Body {
        /// `#id` of its entity, 0 where unknown.
        pub step_id: u64,
        /// Name of its entity, else of its product.
        pub name: String,
        /// Names of the products and occurrences above it, joined by `/`.
        pub path: String,
        /// Whether it is a solid.
        pub solid: bool,
        /// Volume, mm³; 0 for open bodies.
        pub volume_mm3: f64,
        /// What the kernel's own check finds wrong, empty if nothing.
        pub verdict: String,
    }

    /// A placed face.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Face {
        /// `#id` of its entity, 0 where unknown.
        pub step_id: u64,
        /// Name of its entity.
        pub name: String,
        /// Index of its body.
        pub body: u32,
        /// Whether the outward normal is `-(du × dv)`.
        pub reversed: bool,
        /// Index of its surface.
        pub surface: u32,
        /// Area, mm².
        pub area_mm2: f64,
        /// Lower corner of the face's box in its parameters.
        pub uv_lo: [f64; 2],
        /// Upper corner of the face's box in its parameters.
        pub uv_hi: [f64; 2],
        /// Borders.
        pub loops: Vec<Loop>,
        /// What the kernel's own check finds wrong, empty if nothing.
        pub verdict: String,
        /// Whether it was meshed.
        pub meshed: bool,
    }

    /// A triangle mesh that is welded along shared edges.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Mesh {
        /// Vertices, three numbers each, mm.
        pub vertices: Vec<f64>,
        /// Triangles, three vertex numbers each, counter-clockwise seen from outside.
        pub triangles: Vec<u32>,
        /// Face of each triangle.
        pub face_of: Vec<u32>,
        /// Parameters (u, v) of each triangle's corners, six numbers each.
        pub corner_uv: Vec<f64>,
    }

    /// What the reader had to say about one entity.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Remark {
        /// `#id` of the entity, 0 for the file as a whole.
        pub step_id: u64,
        /// Its type as written in the file, where known.
        pub entity: String,
        /// The reader's words.
        pub text: String,
        /// Whether something was lost.
        pub failed: bool,
    }

    /// Everything read.
    #[derive(Debug, Clone, PartialEq)]
    pub struct Model {
        /// Length units of the file as it names them.
        pub length_units: Vec<String>,
        /// Placed bodies.
        pub bodies: Vec<Body>,
        /// Placed faces, by body and entity number.
        pub faces: Vec<Face>,
        /// Surfaces; a face names its own, an offset its base.
        pub surfaces: Vec<Surface>,
        /// Curves that the surfaces refer to.
        pub curves: Vec<Curve>,
        /// Tessellation.
        pub mesh: Mesh,
        /// Remarks of the reader.
        pub remarks: Vec<Remark>,
    }

    unsafe extern "C++" {
        include!("occt/cpp/shim.h");

        /// Reads a STEP file from memory.
        fn read_step(bytes: &[u8], request: &Request) -> Result<Model>;
    }
}

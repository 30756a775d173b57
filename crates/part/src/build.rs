//! From the triangles of a mesh file to a part: scale, weld, clean, solids, faces.

mod clean;
mod join;
mod regions;
mod solids;
mod split;
mod weld;

use crate::curvature::Estimates;
use crate::error::{Place, ReadError};
use crate::health::{self, Examined};
use crate::model::{Face, FaceKind, Part};
use crate::read::{ReadOptions, stem, unit_of};
use crate::unit::LengthUnit;
use geom::{Bvh, MeshEdges, TriMesh, Vec3};
use rayon::prelude::*;
use split::Found;

/// Largest distance of a part's coordinate from the origin, mm.
pub const LARGEST_MM: f64 = 1e6;
/// Most triangles a mesh may have: corners and edges are counted in 32 bits.
pub const MOST_TRIANGLES: u64 = u32::MAX as u64 / 8;

/// The triangles of a mesh file as they stand in it, in the file's unit.
#[derive(Debug, Clone, Default)]
pub(crate) struct Soup {
    pub(crate) vertices: Vec<Vec3>,
    pub(crate) triangles: Vec<[u32; 3]>,
    /// Body that each triangle belongs to.
    pub(crate) piece_of: Vec<u32>,
    /// Names of the bodies; an empty name is none.
    pub(crate) pieces: Vec<String>,
    /// Named group within the body, or none (`u32::MAX`).
    pub(crate) group_of: Vec<u32>,
    pub(crate) groups: Vec<String>,
    /// Whether a body is one solid even where it falls into several pieces.
    pub(crate) bodies_are_solids: bool,
    /// Unit that the file names.
    pub(crate) unit: Option<LengthUnit>,
    /// Name of the part that the file gives.
    pub(crate) name: Option<String>,
    pub(crate) notes: Vec<String>,
    /// First coordinate that is not finite or the largest one, for the message.
    pub(crate) worst: Option<(f64, Place)>,
}

/// No group.
pub(crate) const NO_GROUP: u32 = u32::MAX;

impl Soup {
    pub(crate) fn with_capacity(triangles: usize) -> Self {
        Self {
            vertices: Vec::with_capacity(3 * triangles),
            triangles: Vec::with_capacity(triangles),
            piece_of: Vec::with_capacity(triangles),
            group_of: Vec::with_capacity(triangles),
            ..Self::default()
        }
    }

    /// Opens a body and gives its number.
    pub(crate) fn piece(&mut self, name: String) -> u32 {
        self.pieces.push(name);
        (self.pieces.len() - 1) as u32
    }

    /// The number of the group of that name, a new one where there is none yet.
    pub(crate) fn group(&mut self, name: &str) -> u32 {
        // files name the same group again and again, mostly the one before
        if let Some(at) = self.groups.iter().rposition(|g| g == name) {
            return at as u32;
        }
        self.groups.push(name.to_owned());
        (self.groups.len() - 1) as u32
    }

    /// Adds a triangle with corners of its own.
    pub(crate) fn triangle(
        &mut self,
        corners: [Vec3; 3],
        piece: u32,
        place: impl FnOnce() -> Place,
    ) {
        let base = self.vertices.len() as u32;
        let size = corners.iter().map(|c| size_of(*c)).fold(0.0, f64::max);
        self.look_at(size, place);
        self.vertices.extend(corners);
        self.index_triangle([base, base + 1, base + 2], piece, NO_GROUP);
    }

    /// Adds a vertex for triangles that share it.
    pub(crate) fn vertex(&mut self, p: Vec3, place: impl FnOnce() -> Place) {
        self.look_at(size_of(p), place);
        self.vertices.push(p);
    }

    /// Adds a triangle over vertices that are there already.
    pub(crate) fn index_triangle(&mut self, corners: [u32; 3], piece: u32, group: u32) {
        self.triangles.push(corners);
        self.piece_of.push(piece);
        self.group_of.push(group);
    }

    fn look_at(&mut self, size: f64, place: impl FnOnce() -> Place) {
        if self.worst.as_ref().is_none_or(|w| size > w.0) {
            self.worst = Some((size, place()));
        }
    }
}

/// Largest coordinate without its sign; infinite where one is no number.
fn size_of(p: Vec3) -> f64 {
    if p.is_finite() { p.abs().max_element() } else { f64::INFINITY }
}

/// Makes a part of the triangles of a mesh file.
pub(crate) fn from_soup(
    mut soup: Soup,
    display_name: &str,
    options: &ReadOptions,
) -> Result<Part, ReadError> {
    let (unit, unit_note) = unit_of(&soup, options);
    check_size(&soup, unit, display_name)?;
    let mut notes = std::mem::take(&mut soup.notes);
    notes.extend(unit_note);
    soup.vertices.iter_mut().for_each(|v| *v *= unit.mm());
    weld::weld(&mut soup, &mut notes);
    clean::clean(&mut soup, &mut notes);
    if soup.triangles.is_empty() {
        let what = "every triangle in it has no area".to_owned();
        return Err(ReadError::NoSurface { file: display_name.to_owned(), what });
    }
    let (solids, solid_of) = solids::find(&mut soup, &mut notes);
    let mut mesh = TriMesh {
        vertices: std::mem::take(&mut soup.vertices),
        triangles: std::mem::take(&mut soup.triangles),
        face_of: Vec::new(),
    };
    let edges = MeshEdges::new(&mesh);
    let regions = regions::find(&mesh, &edges, &soup.group_of, &solid_of, options.sharp_edge_deg);
    let found = split::recognise_all(&mesh, &edges, &regions.region_of, regions.count);
    let group = |t: u32| (soup.group_of[t as usize], solid_of[t as usize]);
    let found = join::join(&mesh, &edges, |a, b| group(a) == group(b), found);
    mesh.face_of = vec![0; mesh.triangles.len()];
    let mut faces = Vec::with_capacity(found.len());
    for (index, f) in found.iter().enumerate() {
        f.triangles.iter().for_each(|&t| mesh.face_of[t as usize] = index as u32);
        faces.push(face(index, f, &mesh, &soup, &solid_of));
    }
    let estimates = Estimates::new(&mesh, found.into_iter().map(|f| f.surface).collect());
    let bvh = Bvh::new(&mesh);
    let Examined { defects, notes: more } = health::examine(&mesh, &edges, &bvh, &solid_of);
    notes.extend(more);
    Ok(Part {
        name: soup.name.unwrap_or_else(|| stem(display_name)),
        unit,
        solids,
        faces,
        deviation_mm: deviation_mm(&mesh, &estimates),
        mesh,
        corner_uv: Vec::new(),
        estimates: Some(estimates),
        bvh,
        defects,
        notes,
    })
}

fn face(index: usize, found: &Found, mesh: &TriMesh, soup: &Soup, solid_of: &[u32]) -> Face {
    let first = found.triangles[0] as usize;
    Face {
        index,
        step_id: None,
        name: soup.groups.get(soup.group_of[first] as usize).cloned().unwrap_or_default(),
        solid: solid_of[first] as usize,
        kind: found.surface.as_ref().map_or(FaceKind::Freeform, |s| s.kind),
        surface: None,
        trim: None,
        flip: false,
        fit_residual_mm: found.surface.as_ref().map(|s| s.residual_mm),
        area_mm2: found.triangles.iter().map(|&t| mesh.triangle_area_mm2(t as usize)).sum(),
    }
}

/// How far the mesh is from the surface that its corners expect, at worst: at the middles of the
/// triangles and of their edges.
fn deviation_mm(mesh: &TriMesh, estimates: &Estimates) -> f64 {
    const PLACES: [[f64; 3]; 4] =
        [[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5], [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0]];
    (0..mesh.triangles.len())
        .into_par_iter()
        .map(|t| {
            let corners = mesh.corners(t);
            let off = |w: [f64; 3]| {
                let site = estimates.site(mesh, t, w)?;
                Some((site.point - geom::triangle::at(corners, w)).length())
            };
            PLACES.into_iter().filter_map(off).fold(0.0, f64::max)
        })
        .reduce(|| 0.0, f64::max)
}

fn check_size(soup: &Soup, unit: LengthUnit, file: &str) -> Result<(), ReadError> {
    let file = file.to_owned();
    if soup.triangles.is_empty() {
        let what = format!("{} vertices, no triangle", soup.vertices.len());
        return Err(ReadError::NoSurface { file, what });
    }
    let number = soup.triangles.len() as u64;
    if number > MOST_TRIANGLES {
        let what = "the number of triangles".to_owned();
        return Err(ReadError::TooLarge { file, what, number, most: MOST_TRIANGLES });
    }
    match &soup.worst {
        Some((size, place)) if size * unit.mm() > LARGEST_MM => Err(ReadError::Coordinate {
            file,
            place: place.clone(),
            value_mm: size * unit.mm(),
            largest_mm: LARGEST_MM,
        }),
        _ => Ok(()),
    }
}

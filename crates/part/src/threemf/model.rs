//! The XML model of a 3MF package: unit, objects, build items.

use super::package::{Package, clean};
use crate::error::{Blame, Place, ReadError, quoted};
use crate::unit::LengthUnit;
use geom::{Affine3, Mat3, Vec3};
use roxmltree::{Document, Node};
use std::collections::BTreeMap;

/// All models of a package that its build needs.
#[derive(Debug, Default)]
pub(super) struct Models {
    pub(super) unit: LengthUnit,
    pub(super) title: Option<String>,
    /// By file of the package and number of the object.
    pub(super) objects: BTreeMap<(String, u32), Object>,
    pub(super) items: Vec<Placement>,
    pub(super) lattices: usize,
}

/// An object that can be placed.
#[derive(Debug)]
pub(super) struct Object {
    pub(super) name: String,
    pub(super) body: Body,
}

/// What an object is made of.
#[derive(Debug)]
pub(super) enum Body {
    None,
    Mesh { vertices: Vec<Vec3>, triangles: Vec<[u32; 3]> },
    Components(Vec<Placement>),
}

/// An object placed by the build or by another object.
#[derive(Debug)]
pub(super) struct Placement {
    pub(super) path: String,
    pub(super) object: u32,
    pub(super) transform: Affine3,
    pub(super) name: String,
}

impl Models {
    /// Reads the root model and every model that its placements point to.
    pub(super) fn read(
        package: &mut Package<'_>,
        root: &str,
        blame: Blame<'_>,
    ) -> Result<Self, ReadError> {
        let mut models = Self::default();
        let mut done: Vec<String> = Vec::new();
        let mut wanted = vec![root.to_owned()];
        while let Some(path) = wanted.pop() {
            if done.contains(&path) {
                continue;
            }
            let text = package.text(&path)?;
            let tree = Document::parse(&text).map_err(|e| package.no_xml(&path, &e))?;
            let reader = Reader { tree: &tree, path: &path, blame };
            wanted.extend(reader.model(&mut models, done.is_empty())?);
            done.push(path);
        }
        Ok(models)
    }
}

struct Reader<'a, 'x> {
    tree: &'a Document<'x>,
    path: &'a str,
    blame: Blame<'a>,
}

impl Reader<'_, '_> {
    /// Reads one model into `models` and gives the other files that it points to.
    fn model(&self, models: &mut Models, is_root: bool) -> Result<Vec<String>, ReadError> {
        let model = self.tree.root_element();
        if model.tag_name().name() != "model" {
            let found = format!("found element {}", quoted(model.tag_name().name()));
            return Err(self.wrong(model, found, "\"model\""));
        }
        let unit = self.unit(model)?;
        if is_root {
            models.unit = unit;
            models.title = title(model);
        } else if unit != models.unit {
            let found = format!("its unit is {unit}");
            return Err(self.wrong(model, found, format!("{}, as the root model", models.unit)));
        }
        let mut others = Vec::new();
        for object in model.descendants().filter(|n| is(*n, "object")) {
            let id = self.number(object, "id")?;
            let object = self.object(object)?;
            if let Body::Components(parts) = &object.body {
                others.extend(parts.iter().map(|p| p.path.clone()));
            }
            models.objects.insert((self.path.to_owned(), id), object);
        }
        models.lattices += model.descendants().filter(|n| is(*n, "beamlattice")).count();
        if is_root {
            for item in model.descendants().filter(|n| is(*n, "item")) {
                let item = self.placement(item)?;
                others.push(item.path.clone());
                models.items.push(item);
            }
        }
        others.retain(|p| p != self.path);
        Ok(others)
    }

    fn unit(&self, model: Node<'_, '_>) -> Result<LengthUnit, ReadError> {
        // the format's own default
        let Some(word) = model.attribute("unit") else { return Ok(LengthUnit::Mm) };
        word.parse().map_err(|_| {
            let expected = "micron, millimeter, centimeter, inch, foot or meter";
            self.wrong(model, format!("found unit {}", quoted(word)), expected)
        })
    }

    fn object(&self, node: Node<'_, '_>) -> Result<Object, ReadError> {
        let name = node.attribute("name").unwrap_or("").trim().to_owned();
        let kind = node.attribute("type").unwrap_or("model");
        let body = if !["model", "solidsupport", "surface"].contains(&kind) {
            Body::None
        } else if let Some(mesh) = node.children().find(|n| is(*n, "mesh")) {
            self.mesh(mesh)?
        } else if let Some(parts) = node.children().find(|n| is(*n, "components")) {
            let parts = parts.children().filter(|n| is(*n, "component"));
            Body::Components(parts.map(|n| self.placement(n)).collect::<Result<_, _>>()?)
        } else {
            Body::None
        };
        Ok(Object { name, body })
    }

    fn mesh(&self, node: Node<'_, '_>) -> Result<Body, ReadError> {
        let list = |list: &'static str, entry: &'static str| {
            node.children()
                .filter(move |n| is(*n, list))
                .flat_map(|n| n.children())
                .filter(move |n| is(*n, entry))
        };
        let mut vertices = Vec::new();
        for n in list("vertices", "vertex") {
            vertices.push(Vec3::new(
                self.coordinate(n, "x")?,
                self.coordinate(n, "y")?,
                self.coordinate(n, "z")?,
            ));
        }
        let mut triangles = Vec::new();
        for n in list("triangles", "triangle") {
            let t = [self.number(n, "v1")?, self.number(n, "v2")?, self.number(n, "v3")?];
            if let Some(bad) = t.iter().find(|v| **v as usize >= vertices.len()) {
                let expected = format!("the number of one of {} vertices", vertices.len());
                return Err(self.wrong(n, format!("found corner {bad}"), expected));
            }
            triangles.push(t);
        }
        Ok(Body::Mesh { vertices, triangles })
    }

    fn placement(&self, node: Node<'_, '_>) -> Result<Placement, ReadError> {
        // the path stands in a namespace of its own; its local name is enough here
        let path = node.attributes().find(|a| a.name() == "path").map(|a| clean(a.value()));
        Ok(Placement {
            path: path.unwrap_or_else(|| self.path.to_owned()),
            object: self.number(node, "objectid")?,
            transform: self.transform(node)?,
            name: node.attribute("partnumber").unwrap_or("").trim().to_owned(),
        })
    }

    /// Twelve numbers, row by row, for row vectors: three rows of the matrix, then the shift.
    fn transform(&self, node: Node<'_, '_>) -> Result<Affine3, ReadError> {
        let Some(text) = node.attribute("transform") else { return Ok(Affine3::IDENTITY) };
        let numbers: Vec<f64> = text.split_whitespace().filter_map(|w| w.parse().ok()).collect();
        let words = text.split_whitespace().count();
        if words != 12 || numbers.len() != 12 || numbers.iter().any(|x| !x.is_finite()) {
            let found = format!("found transform {}", quoted(text));
            return Err(self.wrong(node, found, "twelve numbers"));
        }
        let row = |k: usize| Vec3::new(numbers[k], numbers[k + 1], numbers[k + 2]);
        Ok(Affine3::from_mat3_translation(Mat3::from_cols(row(0), row(3), row(6)), row(9)))
    }

    fn coordinate(&self, node: Node<'_, '_>, name: &str) -> Result<f64, ReadError> {
        let word = node.attribute(name);
        let value = word.and_then(|w| w.trim().parse::<f64>().ok()).filter(|x| x.is_finite());
        value.ok_or_else(|| self.attribute(node, name, word, "a coordinate"))
    }

    fn number(&self, node: Node<'_, '_>, name: &str) -> Result<u32, ReadError> {
        let word = node.attribute(name);
        let value = word.and_then(|w| w.trim().parse().ok());
        value.ok_or_else(|| self.attribute(node, name, word, "a whole number"))
    }

    fn attribute(
        &self,
        node: Node<'_, '_>,
        name: &str,
        word: Option<&str>,
        what: &str,
    ) -> ReadError {
        let found = match word {
            Some(word) => format!("attribute {name} is {}", quoted(word)),
            None => format!("{} has no attribute {name}", node.tag_name().name()),
        };
        self.wrong(node, found, what)
    }

    fn wrong(
        &self,
        node: Node<'_, '_>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> ReadError {
        let at = self.tree.text_pos_at(node.range().start);
        let place = Place::Inside(format!("{}, line {}, column {}", self.path, at.row, at.col));
        self.blame.at(place, found, expected)
    }
}

fn is(node: Node<'_, '_>, name: &str) -> bool {
    node.is_element() && node.tag_name().name() == name
}

fn title(model: Node<'_, '_>) -> Option<String> {
    model
        .children()
        .find(|n| is(*n, "metadata") && n.attribute("name") == Some("Title"))
        .and_then(|n| n.text())
        .map(|t| t.trim().to_owned())
        .filter(|t| !t.is_empty())
}

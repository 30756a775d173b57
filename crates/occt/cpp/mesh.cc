// Tessellation, welded along shared edges by topology alone, and the borders of faces.
#include "internal.h"

#include <BRepMesh_IncrementalMesh.hxx>
#include <BRepTools.hxx>
#include <BRepTools_WireExplorer.hxx>
#include <BRep_Tool.hxx>
#include <GeomAbs_CurveType.hxx>
#include <Geom2dAdaptor_Curve.hxx>
#include <Poly_PolygonOnTriangulation.hxx>
#include <Poly_Triangulation.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Edge.hxx>
#include <TopoDS_Vertex.hxx>
#include <TopoDS_Wire.hxx>

namespace shim {
namespace {

constexpr uint32_t kNone = 0xFFFFFFFFu;
// Points between two mesh nodes of a border that is not straight in the parameters.
constexpr int kBorderSplit = 4;

// Global vertices: one for each topological vertex and for each inner node of an edge.
class Welder {
 public:
  explicit Welder(Mesh& mesh) : mesh_(mesh) {}

  uint32_t add(const gp_Pnt& p) {
    mesh_.vertices.push_back(p.X());
    mesh_.vertices.push_back(p.Y());
    mesh_.vertices.push_back(p.Z());
    return count_++;
  }

  uint32_t of_vertex(const TopoDS_Vertex& v) {
    const size_t index = vertices_.Add(v);
    if (index > of_vertex_.size()) of_vertex_.push_back(add(BRep_Tool::Pnt(v)));
    return of_vertex_[index - 1];
  }

  // Node `node` of `nodes` on the edge; `p` is used the first time.
  uint32_t of_edge(const TopoDS_Edge& edge, int node, int nodes, const gp_Pnt& p) {
    const size_t index = edges_.Add(edge);
    if (index > of_edge_.size()) of_edge_.emplace_back(nodes, kNone);
    std::vector<uint32_t>& known = of_edge_[index - 1];
    if (node >= static_cast<int>(known.size())) return add(p);  // left open, and reported as such
    if (known[node] == kNone) known[node] = add(p);
    return known[node];
  }

 private:
  Mesh& mesh_;
  uint32_t count_ = 0;
  TopTools_IndexedMapOfShape vertices_, edges_;
  std::vector<uint32_t> of_vertex_;
  std::vector<std::vector<uint32_t>> of_edge_;
};

struct FaceMesh {
  Handle(Poly_Triangulation) triangles;
  TopLoc_Location place;
  gp_Pnt point(int node) const { return triangles->Node(node).Transformed(place.Transformation()); }
};

void weld_edge(const TopoDS_Edge& edge, const FaceMesh& face, Welder& welder,
               std::vector<uint32_t>& global) {
  const auto polygon = BRep_Tool::PolygonOnTriangulation(edge, face.triangles, face.place);
  if (polygon.IsNull()) return;
  const TColStd_Array1OfInteger& nodes = polygon->Nodes();
  const int count = nodes.Length();
  TopoDS_Vertex first, last;
  TopExp::Vertices(TopoDS::Edge(edge.Oriented(TopAbs_FORWARD)), first, last);
  const bool degenerate = BRep_Tool::Degenerated(edge);
  for (int i = 0; i < count; ++i) {
    const int node = nodes(nodes.Lower() + i);
    uint32_t& slot = global[node];
    if ((i == 0 || degenerate) && !first.IsNull())
      slot = welder.of_vertex(first);
    else if (i == count - 1 && !last.IsNull())
      slot = welder.of_vertex(last);
    else
      slot = welder.of_edge(edge, i, count, face.point(node));
  }
}

void add_triangles(const TopoDS_Face& face, uint32_t number, const FaceMesh& fm,
                   const std::vector<uint32_t>& global, Mesh& mesh) {
  const bool reversed = face.Orientation() == TopAbs_REVERSED;
  const bool has_uv = fm.triangles->HasUVNodes();
  for (int t = 1; t <= fm.triangles->NbTriangles(); ++t) {
    int n[3];
    fm.triangles->Triangle(t).Get(n[0], n[1], n[2]);
    if (reversed) std::swap(n[1], n[2]);
    const uint32_t g[3] = {global[n[0]], global[n[1]], global[n[2]]};
    if (g[0] == g[1] || g[1] == g[2] || g[2] == g[0]) continue;
    for (int k = 0; k < 3; ++k) {
      mesh.triangles.push_back(g[k]);
      const gp_Pnt2d uv = has_uv ? fm.triangles->UVNode(n[k]) : gp_Pnt2d(0, 0);
      mesh.corner_uv.push_back(uv.X());
      mesh.corner_uv.push_back(uv.Y());
    }
    mesh.face_of.push_back(number);
  }
}

// Parameters at which to take points of a border edge: its mesh nodes, more between where curved.
std::vector<double> border_parameters(const TopoDS_Edge& edge, const TopoDS_Face& face,
                                      const Handle(Geom2d_Curve)& curve, double lo, double hi) {
  const bool straight = Geom2dAdaptor_Curve(curve).GetType() == GeomAbs_Line;
  if (straight) return {lo, hi};
  std::vector<double> nodes = {lo, hi};
  TopLoc_Location place;
  const auto triangles = BRep_Tool::Triangulation(face, place);
  if (!triangles.IsNull()) {
    const auto polygon = BRep_Tool::PolygonOnTriangulation(edge, triangles, place);
    if (!polygon.IsNull() && polygon->HasParameters()) {
      const Handle(TColStd_HArray1OfReal)& p = polygon->Parameters();
      nodes.assign(p->begin(), p->end());
      if (nodes.size() < 2) nodes = {lo, hi};
      nodes.front() = lo;
      nodes.back() = hi;
    }
  }
  std::vector<double> out;
  for (size_t i = 0; i + 1 < nodes.size(); ++i)
    for (int k = 0; k < kBorderSplit; ++k)
      out.push_back(nodes[i] + (nodes[i + 1] - nodes[i]) * k / kBorderSplit);
  out.push_back(hi);
  return out;
}

void border_edge(const TopoDS_Edge& edge, const TopoDS_Face& face, Loop& loop) {
  double lo, hi;
  const Handle(Geom2d_Curve) curve = BRep_Tool::CurveOnSurface(edge, face, lo, hi);
  if (curve.IsNull()) return;
  std::vector<double> at = border_parameters(edge, face, curve, lo, hi);
  if (edge.Orientation() == TopAbs_REVERSED) std::reverse(at.begin(), at.end());
  at.pop_back();  // the next edge begins there
  for (const double t : at) {
    const gp_Pnt2d p = curve->Value(t);
    loop.uv.push_back(p.X());
    loop.uv.push_back(p.Y());
  }
}

}  // namespace

void tessellate(const TopoDS_Shape& shape, double deflection_mm, const Request& request,
                bool parallel, Handle(Deadline) deadline) {
  IMeshTools_Parameters parameters;
  parameters.Deflection = deflection_mm;
  parameters.DeflectionInterior = deflection_mm * request.inside_factor;
  parameters.Angle = request.angle_rad;
  parameters.AngleInterior = request.angle_rad;
  parameters.Relative = false;
  parameters.InParallel = parallel;
  parameters.ControlSurfaceDeflection = true;
  BRepMesh_IncrementalMesh mesher;
  mesher.SetShape(shape);
  mesher.ChangeParameters() = parameters;
  mesher.Perform(deadline->Start());
  deadline->check("meshing");
}

void weld(const std::vector<TopoDS_Face>& faces, Model& model) {
  Welder welder(model.mesh);
  for (size_t number = 0; number < faces.size(); ++number) {
    FaceMesh fm;
    fm.triangles = BRep_Tool::Triangulation(faces[number], fm.place);
    if (fm.triangles.IsNull() || fm.triangles->NbTriangles() == 0) continue;
    model.faces[number].meshed = true;
    std::vector<uint32_t> global(fm.triangles->NbNodes() + 1, kNone);
    for (TopExp_Explorer e(faces[number], TopAbs_EDGE); e.More(); e.Next())
      weld_edge(TopoDS::Edge(e.Current()), fm, welder, global);
    for (int i = 1; i <= fm.triangles->NbNodes(); ++i)
      if (global[i] == kNone) global[i] = welder.add(fm.point(i));
    add_triangles(faces[number], static_cast<uint32_t>(number), fm, global, model.mesh);
  }
}

void trim_loops(const TopoDS_Face& face, rust::Vec<Loop>& loops) {
  const TopoDS_Face forward = TopoDS::Face(face.Oriented(TopAbs_FORWARD));
  const TopoDS_Wire outer = BRepTools::OuterWire(forward);
  for (TopExp_Explorer w(forward, TopAbs_WIRE); w.More(); w.Next()) {
    const TopoDS_Wire wire = TopoDS::Wire(w.Current());
    Loop loop{wire.IsSame(outer), {}};
    for (BRepTools_WireExplorer e(wire, forward); e.More(); e.Next())
      border_edge(e.Current(), forward, loop);
    loops.push_back(std::move(loop));
  }
}

}  // namespace shim

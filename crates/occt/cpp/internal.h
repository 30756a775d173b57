// What the files of the shim share.
#pragma once
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include <Geom_Surface.hxx>
#include <Message_ProgressIndicator.hxx>
#include <STEPCAFControl_Reader.hxx>
#include <TDocStd_Document.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS_Face.hxx>
#include <TopoDS_Shape.hxx>

#include "occt/src/bridge.rs.h"

namespace shim {

// A shape of the document with the names above it.
struct PlacedBody {
  TopoDS_Shape shape;
  std::string path;
  std::string product;
  bool solid;
};

// Entity number and name of the entity that a shape came from.
struct Origin {
  uint64_t id = 0;
  std::string name;
};
using Origins = std::map<const void*, Origin>;

// Gives up when the time is over.
class Deadline : public Message_ProgressIndicator {
 public:
  explicit Deadline(double seconds);
  bool over() const;
  void check(const char* stage) const;  // throws when over

 protected:
  Standard_Boolean UserBreak() override { return over(); }
  void Show(const Message_ProgressScope&, const Standard_Boolean) override {}

 private:
  double end_s_;
};

// walk.cc
bool is_unknown(const Handle(Standard_Transient)& entity);
std::vector<PlacedBody> placed_bodies(const Handle(TDocStd_Document)& document);
Origins origins_of_shapes(STEPCAFControl_Reader& reader);
Origin origin_of(const Origins& origins, const TopoDS_Shape& shape);
void collect_remarks(STEPCAFControl_Reader& reader, rust::Vec<Remark>& remarks);

// surface.cc
uint32_t define_surface(const Handle(Geom_Surface)& surface, const double uv[4], Model& model);

// mesh.cc
void tessellate(const TopoDS_Shape& shape, double deflection_mm, const Request& request,
                bool parallel, Handle(Deadline) deadline);
void weld(const std::vector<TopoDS_Face>& faces, Model& model);
void trim_loops(const TopoDS_Face& face, rust::Vec<Loop>& loops);

}  // namespace shim

// Bodies of the document with their placements, and where shapes came from.
#include "internal.h"

#include <Interface_CheckIterator.hxx>
#include <StepData_StepModel.hxx>
#include <StepData_UndefinedEntity.hxx>
#include <StepRepr_RepresentationItem.hxx>
#include <TCollection_HAsciiString.hxx>
#include <TDF_LabelSequence.hxx>
#include <TDataStd_Name.hxx>
#include <TopExp_Explorer.hxx>
#include <TopLoc_Location.hxx>
#include <TransferBRep.hxx>
#include <Transfer_TransientProcess.hxx>
#include <XCAFDoc_DocumentTool.hxx>
#include <XCAFDoc_ShapeTool.hxx>
#include <XSControl_TransferReader.hxx>
#include <XSControl_WorkSession.hxx>

namespace shim {
namespace {

std::string name_of(const TDF_Label& label) {
  Handle(TDataStd_Name) name;
  if (!label.FindAttribute(TDataStd_Name::GetID(), name)) return {};
  const TCollection_ExtendedString& wide = name->Get();
  std::string text(wide.LengthOfCString() + 1, '\0');
  Standard_PCharacter start = text.data();
  text.resize(wide.ToUTF8CString(start));
  return text;
}

void take(const TopoDS_Shape& shape, const std::string& path, const std::string& product,
          std::vector<PlacedBody>& out) {
  for (TopExp_Explorer e(shape, TopAbs_SOLID); e.More(); e.Next())
    out.push_back({e.Current(), path, product, true});
  for (TopExp_Explorer e(shape, TopAbs_SHELL, TopAbs_SOLID); e.More(); e.Next())
    out.push_back({e.Current(), path, product, false});
  for (TopExp_Explorer e(shape, TopAbs_FACE, TopAbs_SHELL); e.More(); e.Next())
    out.push_back({e.Current(), path, product, false});
}

void walk(const TDF_Label& label, const TopLoc_Location& place, const std::string& path, int depth,
          std::vector<PlacedBody>& out) {
  if (depth > 64) throw std::runtime_error("assembly nested deeper than 64 levels");
  TDF_LabelSequence parts;
  if (!XCAFDoc_ShapeTool::IsAssembly(label) ||
      !XCAFDoc_ShapeTool::GetComponents(label, parts)) {
    take(XCAFDoc_ShapeTool::GetShape(label).Moved(place), path, name_of(label), out);
    return;
  }
  std::map<std::string, int> seen;
  for (int i = 1; i <= parts.Length(); ++i) {
    TDF_Label product;
    if (!XCAFDoc_ShapeTool::GetReferredShape(parts(i), product)) continue;
    const std::string name = name_of(product);
    const std::string step = path + "/" + name + ":" + std::to_string(++seen[name]);
    walk(product, place * XCAFDoc_ShapeTool::GetLocation(parts(i)), step, depth + 1, out);
  }
}

std::string text_of(const Handle(TCollection_HAsciiString)& s) {
  return s.IsNull() ? std::string() : std::string(s->ToCString());
}

std::string entity_type(const Handle(StepData_StepModel)& model,
                        const Handle(Standard_Transient)& entity) {
  if (auto unknown = Handle(StepData_UndefinedEntity)::DownCast(entity))
    return unknown->StepType() ? unknown->StepType() : "";
  return model->TypeName(entity, false);
}

void remark(const Handle(StepData_StepModel)& model, const Interface_CheckIterator& list,
            rust::Vec<Remark>& out) {
  for (list.Start(); list.More(); list.Next()) {
    const Handle(Interface_Check)& check = list.Value();
    const int number = list.Number();
    uint64_t id = 0;
    std::string type;
    if (number > 0 && number <= model->NbEntities()) {
      id = model->IdentLabel(model->Value(number));
      type = entity_type(model, model->Value(number));
    }
    for (int i = 1; i <= check->NbFails(); ++i)
      out.push_back({id, rust::String::lossy(type), rust::String::lossy(check->CFail(i)), true});
    for (int i = 1; i <= check->NbWarnings(); ++i)
      out.push_back({id, rust::String::lossy(type), rust::String::lossy(check->CWarning(i)), false});
  }
}

}  // namespace

bool is_unknown(const Handle(Standard_Transient)& entity) {
  return entity->IsKind(STANDARD_TYPE(StepData_UndefinedEntity));
}

std::vector<PlacedBody> placed_bodies(const Handle(TDocStd_Document)& document) {
  Handle(XCAFDoc_ShapeTool) tool = XCAFDoc_DocumentTool::ShapeTool(document->Main());
  TDF_LabelSequence roots;
  tool->GetFreeShapes(roots);
  std::vector<PlacedBody> out;
  for (int i = 1; i <= roots.Length(); ++i)
    walk(roots(i), TopLoc_Location(), name_of(roots(i)), 0, out);
  return out;
}

Origins origins_of_shapes(STEPCAFControl_Reader& reader) {
  Handle(XSControl_WorkSession) session = reader.Reader().WS();
  auto model = Handle(StepData_StepModel)::DownCast(session->Model());
  const Handle(Transfer_TransientProcess)& process = session->TransferReader()->TransientProcess();
  Origins origins;
  for (int i = 1; i <= process->NbMapped(); ++i) {
    auto item = Handle(StepRepr_RepresentationItem)::DownCast(process->Mapped(i));
    if (item.IsNull()) continue;
    const TopoDS_Shape shape = TransferBRep::ShapeResult(process, item);
    if (shape.IsNull() || shape.ShapeType() > TopAbs_FACE) continue;
    origins[shape.TShape().get()] = {static_cast<uint64_t>(model->IdentLabel(item)),
                                     text_of(item->Name())};
  }
  return origins;
}

Origin origin_of(const Origins& origins, const TopoDS_Shape& shape) {
  const auto found = origins.find(shape.TShape().get());
  return found == origins.end() ? Origin() : found->second;
}

void collect_remarks(STEPCAFControl_Reader& reader, rust::Vec<Remark>& remarks) {
  Handle(XSControl_WorkSession) session = reader.Reader().WS();
  auto model = Handle(StepData_StepModel)::DownCast(session->Model());
  for (int i = 1; i <= model->NbEntities(); ++i)
    if (is_unknown(model->Value(i)))
      remarks.push_back({static_cast<uint64_t>(model->IdentLabel(model->Value(i))),
                         rust::String::lossy(entity_type(model, model->Value(i))),
                         "unknown entity type", true});
  remark(model, session->ModelCheckList(), remarks);
  remark(model, session->TransferReader()->LastCheckList(), remarks);
}

}  // namespace shim

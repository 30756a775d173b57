// Reading: bytes to document, document to plain data.
#include "internal.h"

#include <chrono>
#include <cmath>
#include <csignal>
#include <istream>
#include <mutex>
#include <streambuf>

#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

#include <BRepAdaptor_Surface.hxx>
#include <BRepBndLib.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepCheck_ListIteratorOfListOfStatus.hxx>
#include <BRepCheck_Result.hxx>
#include <BRepGProp.hxx>
#include <BRepTools.hxx>
#include <BRep_Builder.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <Interface_Static.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <Message_Printer.hxx>
#include <Standard_Failure.hxx>
#include <TColStd_SequenceOfAsciiString.hxx>
#include <TopExp_Explorer.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Compound.hxx>
#include <XCAFApp_Application.hxx>
#include <XSControl_WorkSession.hxx>

namespace shim {
namespace {

// Relative error that area and volume integrals are asked to keep.
constexpr double kIntegral = 1e-6;

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// Chord height of the trial over that asked for: the trial looks for crashes, not for a mesh.
constexpr double kTrialFactor = 10;

// Reads bytes where they lie.
class Bytes : public std::streambuf {
 public:
  explicit Bytes(rust::Slice<const uint8_t> bytes) {
    char* start = const_cast<char*>(reinterpret_cast<const char*>(bytes.data()));
    setg(start, start, start + bytes.size());
  }

 protected:
  pos_type seekoff(off_type off, std::ios_base::seekdir dir, std::ios_base::openmode) override {
    char* from = dir == std::ios_base::beg ? eback() : dir == std::ios_base::cur ? gptr() : egptr();
    if (from + off < eback() || from + off > egptr()) return pos_type(off_type(-1));
    setg(eback(), from + off, egptr());
    return gptr() - eback();
  }
  pos_type seekpos(pos_type pos, std::ios_base::openmode which) override {
    return seekoff(off_type(pos), std::ios_base::beg, which);
  }
};

// Closes the document whatever happens.
struct Document {
  Handle(TDocStd_Document) handle;
  Document() { XCAFApp_Application::GetApplication()->NewDocument("BinXCAF", handle); }
  ~Document() {
    try {
      XCAFApp_Application::GetApplication()->Close(handle);
    } catch (...) {
    }
  }
};

void silence() {
  const Message_SequenceOfPrinters& printers = Message::DefaultMessenger()->Printers();
  for (int i = 1; i <= printers.Length(); ++i) printers(i)->SetTraceLevel(Message_Fail);
  // Even failures are told by return value here, never on standard output.
  Message::DefaultMessenger()->ChangePrinters().Clear();
}

std::string status_name(BRepCheck_Status s) {
  switch (s) {
    case BRepCheck_SelfIntersectingWire: return "border crosses itself";
    case BRepCheck_IntersectingWires: return "borders cross each other";
    case BRepCheck_InvalidImbricationOfWires: return "borders are not nested as they must be";
    case BRepCheck_NotClosed: return "not closed";
    case BRepCheck_UnorientableShape: return "sides cannot be told apart";
    case BRepCheck_BadOrientationOfSubshape: return "a part of it is turned the wrong way";
    case BRepCheck_NoSurface: return "has no surface";
    case BRepCheck_EmptyShell: return "has no faces";
    case BRepCheck_InvalidToleranceValue: return "has a bad tolerance";
    default: return "check " + std::to_string(static_cast<int>(s)) + " failed";
  }
}

std::string verdict(const BRepCheck_Analyzer& analyzer, const TopoDS_Shape& shape) {
  if (analyzer.IsValid(shape)) return {};
  std::string text;
  const Handle(BRepCheck_Result)& result = analyzer.Result(shape);
  if (!result.IsNull())
    for (BRepCheck_ListIteratorOfListOfStatus s(result->Status()); s.More(); s.Next())
      if (s.Value() != BRepCheck_NoError) text += (text.empty() ? "" : ", ") + status_name(s.Value());
  return text.empty() ? "an edge or a part of it is faulty" : text;
}

Model read(rust::Slice<const uint8_t> bytes, const Request& request);

// Whether this process is the one that may die.
bool on_trial = false;

// Ends this process by SIGPROF after so much processor time: there are loops in the kernel that no
// progress indicator interrupts.
void limit_processor_time(double seconds) {
  const double whole = std::floor(seconds);
  itimerval limit{};
  limit.it_value.tv_sec = static_cast<time_t>(whole);
  limit.it_value.tv_usec = std::max(static_cast<suseconds_t>((seconds - whole) * 1e6), suseconds_t{1});
  setitimer(ITIMER_PROF, &limit, nullptr);
}

// Reads the file in a process of its own first: where entities do not fit together the kernel may
// follow a missing one into nowhere, which no exception tells and no check foresees.
void refuse_killers(rust::Slice<const uint8_t> bytes, const Request& request) {
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("entities do not fit together, and no trial could be run");
  if (child == 0) {
    const rlimit none{0, 0};
    setrlimit(RLIMIT_CORE, &none);
    alarm(static_cast<unsigned>(request.time_limit_s) + 1);
    limit_processor_time(request.trial_cpu_s);
    on_trial = true;
    Request coarse = request;
    coarse.deflection_mm *= kTrialFactor;
    try {
      read(bytes, coarse);
    } catch (...) {
    }
    _exit(0);
  }
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (WIFSIGNALED(status) && (WTERMSIG(status) == SIGPROF || WTERMSIG(status) == SIGALRM))
    throw std::runtime_error("trial: time is up");
  if (!WIFEXITED(status)) throw std::runtime_error("entities of it do not fit together");
}

void read_document(rust::Slice<const uint8_t> bytes, STEPCAFControl_Reader& reader,
                   Document& document, Deadline& deadline, Model& model) {
  Interface_Static::SetCVal("xstep.cascade.unit", "MM");
  reader.SetNameMode(true);
  reader.SetColorMode(false);
  reader.SetLayerMode(false);
  reader.SetPropsMode(false);
  reader.SetGDTMode(false);
  reader.SetMatMode(false);
  Bytes buffer(bytes);
  std::istream stream(&buffer);
  if (reader.ChangeReader().ReadStream("part", stream) != IFSelect_RetDone)
    throw std::runtime_error("the kernel's reader could not make sense of the file");
  deadline.check("reading");
  TColStd_SequenceOfAsciiString lengths, angles, solid_angles;
  reader.ChangeReader().FileUnits(lengths, angles, solid_angles);
  for (int i = 1; i <= lengths.Length(); ++i)
    model.length_units.push_back(rust::String::lossy(lengths(i).ToCString()));
  reader.Transfer(document.handle, deadline.Start());
  deadline.check("building the shapes");
  collect_remarks(reader, model.remarks);
}

// Size of the shape, mm: the diagonal of its box. Refuses giants.
double size_of(const TopoDS_Shape& shape, double largest_mm) {
  Bnd_Box box;
  BRepBndLib::Add(shape, box, false);
  if (box.IsVoid()) return 0;
  if (box.IsOpen()) throw std::runtime_error("size: inf");
  double c[6];
  box.Get(c[0], c[1], c[2], c[3], c[4], c[5]);
  for (const double x : c)
    if (!(std::abs(x) <= largest_mm))
      throw std::runtime_error("size: " + std::to_string(x));
  return std::hypot(c[3] - c[0], c[4] - c[1], c[5] - c[2]);
}

// Faces of a body by entity number: the order of the file's lists is no identity.
std::vector<TopoDS_Face> faces_of(const TopoDS_Shape& body, const Origins& origins) {
  std::vector<TopoDS_Face> faces;
  TopTools_IndexedMapOfShape seen;
  for (TopExp_Explorer e(body, TopAbs_FACE); e.More(); e.Next())
    if (!seen.Contains(e.Current())) {
      seen.Add(e.Current());
      faces.push_back(TopoDS::Face(e.Current()));
    }
  std::stable_sort(faces.begin(), faces.end(), [&](const TopoDS_Face& a, const TopoDS_Face& b) {
    return origin_of(origins, a).id < origin_of(origins, b).id;
  });
  return faces;
}

Face describe_face(const TopoDS_Face& face, uint32_t body, const Origin& origin,
                   const BRepCheck_Analyzer& analyzer, Model& model) {
  Face f{};
  f.step_id = origin.id;
  f.name = rust::String::lossy(origin.name);
  f.body = body;
  f.reversed = face.Orientation() == TopAbs_REVERSED;
  f.verdict = rust::String::lossy(verdict(analyzer, face));
  double uv[4];
  BRepTools::UVBounds(face, uv[0], uv[1], uv[2], uv[3]);
  f.uv_lo = {uv[0], uv[2]};
  f.uv_hi = {uv[1], uv[3]};
  const Handle(Geom_Surface) surface = BRep_Tool::Surface(face);
  if (surface.IsNull()) throw std::runtime_error("a face without a surface");
  f.surface = define_surface(surface, uv, model);
  GProp_GProps properties;
  BRepGProp::SurfaceProperties(face, properties, kIntegral);
  f.area_mm2 = properties.Mass();
  return f;
}

Body name_body(const PlacedBody& placed, const Origin& origin) {
  Body b{};
  b.step_id = origin.id;
  b.name = rust::String::lossy(origin.name.empty() ? placed.product : origin.name);
  b.path = rust::String::lossy(placed.path);
  b.solid = placed.solid;
  return b;
}

void judge_body(const PlacedBody& placed, const BRepCheck_Analyzer& analyzer, Body& b) {
  b.verdict = rust::String::lossy(verdict(analyzer, placed.shape));
  if (!placed.solid) return;
  GProp_GProps properties;
  BRepGProp::VolumeProperties(placed.shape, properties, kIntegral);
  b.volume_mm3 = properties.Mass();
}

std::vector<TopoDS_Face> describe_all(const std::vector<PlacedBody>& placed, const Origins& origins,
                                      const Request& request, Deadline& deadline, Model& model) {
  std::vector<TopoDS_Face> faces;
  for (size_t i = 0; i < placed.size(); ++i) {
    const bool wanted = request.only_body < 0 || static_cast<size_t>(request.only_body) == i;
    const Origin origin = origin_of(origins, placed[i].shape);
    model.bodies.push_back(name_body(placed[i], origin));
    if (!wanted) continue;
    const BRepCheck_Analyzer analyzer(placed[i].shape);
    deadline.check("checking the shapes");
    judge_body(placed[i], analyzer, model.bodies.back());
    for (const TopoDS_Face& face : faces_of(placed[i].shape, origins)) {
      model.faces.push_back(describe_face(face, static_cast<uint32_t>(i), origin_of(origins, face),
                                          analyzer, model));
      faces.push_back(face);
      deadline.check("measuring faces");
    }
  }
  return faces;
}

Model read(rust::Slice<const uint8_t> bytes, const Request& request) {
  silence();
  Handle(Deadline) deadline = new Deadline(request.time_limit_s);
  if (!on_trial) refuse_killers(bytes, request);
  Model model{};
  Document document;
  STEPCAFControl_Reader reader;
  read_document(bytes, reader, document, *deadline, model);
  const std::vector<PlacedBody> placed = placed_bodies(document.handle);
  const Origins origins = origins_of_shapes(reader);
  BRep_Builder builder;
  TopoDS_Compound all;
  builder.MakeCompound(all);
  for (size_t i = 0; i < placed.size(); ++i)
    if (request.only_body < 0 || static_cast<size_t>(request.only_body) == i)
      builder.Add(all, placed[i].shape);
  const double size_mm = size_of(all, request.largest_coordinate_mm);
  const std::vector<TopoDS_Face> faces = describe_all(placed, origins, request, *deadline, model);
  if (!request.mesh || faces.empty()) return model;
  const double deflection_mm = std::max(request.deflection_mm, request.coarsest_share * size_mm);
  tessellate(all, deflection_mm, request, !on_trial, deadline);
  weld(faces, model);
  for (size_t i = 0; i < faces.size(); ++i) trim_loops(faces[i], model.faces[i].loops);
  return model;
}

}  // namespace

Deadline::Deadline(double seconds) : end_s_(now_s() + seconds) {}
bool Deadline::over() const { return now_s() > end_s_; }
void Deadline::check(const char* stage) const {
  if (over()) throw std::runtime_error(std::string("time: gave up while ") + stage);
}

Model read_step(rust::Slice<const uint8_t> bytes, const Request& request) {
  static std::mutex one_at_a_time;  // the kernel's settings and sessions are global
  const std::lock_guard<std::mutex> guard(one_at_a_time);
  try {
    return read(bytes, request);
  } catch (const Standard_Failure& failure) {
    const char* text = failure.GetMessageString();
    throw std::runtime_error(std::string("kernel: ") + failure.DynamicType()->Name() +
                             (text && *text ? std::string(": ") + text : std::string()));
  }
}

}  // namespace shim

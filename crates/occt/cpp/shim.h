// The one function that the bridge calls.
#pragma once
#include "rust/cxx.h"

namespace shim {
struct Request;
struct Model;
Model read_step(rust::Slice<const uint8_t> bytes, const Request& request);
}  // namespace shim

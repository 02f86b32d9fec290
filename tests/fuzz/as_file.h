#pragma once
#include <filesystem>
#include <string>

#include "../support/scratch_folder.h"
#include "readers.h"

namespace slipglass::fuzz {

/// One folder for all of a run, in TMPDIR.
inline const test::ScratchFolder& scratch()
{
    static const test::ScratchFolder folder;
    return folder;
}

/// The bytes as a file; the next one of that name takes its place.
inline std::filesystem::path asFile(Bytes bytes, const std::string& name)
{
    return scratch().write(name, std::string(textOf(bytes)));
}

}  // namespace slipglass::fuzz

// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>

#include "fieldfare/app/trouble.h"
#include "fieldfare/wire/byte_log.h"

namespace fieldfare::app {

/// All that came in at a desk, and what was said there, in a log of bytes: before
/// anything is made of it, so that nothing is lost whatever the program thinks of
/// it or however it ends. docs/formats/byte-log.md.
class DeskRecord {
 public:
  using Take = std::function<void(const wire::LoggedBytes&)>;

  /// More than this waits to be written: sources are to wait.
  static constexpr std::size_t kHighWater = std::size_t{4} << 20U;

  /// A new file, or one that such a record began, to be gone on with. Refuses a
  /// file that is anything else, and one that another program writes.
  static Result<DeskRecord, Trouble> open(const std::string& path);
  ~DeskRecord();
  DeskRecord(DeskRecord&& other) noexcept;
  DeskRecord& operator=(DeskRecord&&) = delete;
  DeskRecord(const DeskRecord&) = delete;
  DeskRecord& operator=(const DeskRecord&) = delete;

  const std::string& path() const { return path_; }

  /// To be written by the next write().
  void append(const wire::LoggedBytes& logged);
  /// Brings to the disk what was appended. False where the disk refuses; it all waits
  /// for the next try then, and trouble() says why.
  bool write();
  const std::string& trouble() const { return trouble_; }
  bool is_full() const { return waiting_.size() >= kHighWater; }

  /// Everything so far, in order.
  Result<Done, Trouble> replay(const Take& take) const;

  /// Removes the file where nothing came in and nothing was said; true then.
  bool remove_if_empty();

 private:
  DeskRecord(std::string path, int descriptor) : path_{std::move(path)}, descriptor_{descriptor} {}

  Result<Done, Trouble> begin();
  Failure<Trouble> not_a_record(std::size_t line) const;
  Result<std::uint64_t, Trouble> read_through(std::uint64_t end, const Take& take) const;

  std::string path_;
  int descriptor_;
  std::uint64_t written_ = 0;  ///< octets of whole lines in the file
  std::string waiting_;
  std::string trouble_;
  bool holds_something_ = false;
};

}  // namespace fieldfare::app

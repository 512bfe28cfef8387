// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/desk_inlets.h"
#include "fieldfare/app/desk_record.h"
#include "fieldfare/app/hearing_keeper.h"
#include "fieldfare/app/listening_lock.h"
#include "fieldfare/site/load.h"
#include "fieldfare/store/store.h"
#include "fieldfare/work/desk.h"

namespace fieldfare::app {

/// What a desk becomes a site of.
struct KeepRequest {
  std::string folder;            ///< doesn't exist yet, or is empty
  std::string timezone = "UTC";  ///< IANA name
  std::vector<fleet::Receiver> receivers;
  std::vector<site::NamedText> sheets;  ///< `sheets/NAME.toml` and their text
  std::string node_sheet;               ///< name of the one that nodes have; empty: none
  std::string receiver_sheet;           ///< and receivers
  std::optional<std::uint16_t> pan_id;
  std::map<std::string, std::uint64_t> marks;  ///< of the sources, by receiver
  Instant now;
};

/// The site that a desk was turned into, listening on: what comes in is stored.
class KeptSite {
 public:
  /// Writes the folder with site.toml, sheets and everything that `record` holds, as
  /// hearings in its store. Nothing of it is there where that fails, whatever was
  /// the reason. `out` gets every hearing.
  static Result<std::unique_ptr<KeptSite>, Trouble> begin(const KeepRequest& request,
                                                          const work::Desk& desk,
                                                          const DeskRecord& record,
                                                          wire::HearingStream& out);

  const std::string& folder() const { return folder_; }
  const fleet::Labels& labels() const { return *labels_; }
  DeskInlets& inlets() { return *inlets_; }

  /// The next event of the desk; its hearings are stored by the next commit(). A
  /// complaint says that one can't be. `mark`: as for DeskInlets::feed().
  store::Outcome feed(const wire::LoggedBytes& logged, wire::HearingStream& out,
                      std::uint64_t mark = 0);
  /// Too much waits to be stored: nothing is to be fed.
  bool is_full() const { return keeper_->is_full(); }
  /// Somebody provokes a report: into the history.
  store::Outcome provoked(const judge::Provocation& provocation);
  /// Somebody wants to be reminded: into the history, from where whoever listens tells it.
  store::Outcome remind(const work::Reminder& reminder);
  /// Stores what waits.
  store::Outcome commit(Instant now);
  /// What else was said: writes site.toml once more. Refuses where somebody has
  /// changed the file since.
  Result<Done, Trouble> write_again(const work::Desk& desk);

 private:
  KeptSite(KeepRequest request, std::string text, fleet::Site site);

  Result<Done, Trouble> open_store();
  Result<Done, Trouble> take_in(const work::Desk& desk, const DeskRecord& record,
                                wire::HearingStream& out);

  KeepRequest request_;
  std::string folder_;
  std::string text_;  ///< of site.toml, as it was written
  std::unique_ptr<fleet::Site> site_;
  std::unique_ptr<fleet::Labels> labels_;
  std::vector<InletPlan> plans_;
  std::unique_ptr<DeskInlets> inlets_;
  std::optional<ListeningLock> lock_;
  std::optional<store::Store> store_;
  std::unique_ptr<HearingKeeper> keeper_;
};

/// site.toml of a desk: every node that was heard more than once or that somebody
/// spoke of, and every label.
std::string desk_site_text(const KeepRequest& request, const work::Desk& desk);

}  // namespace fieldfare::app

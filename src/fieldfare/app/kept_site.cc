// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/kept_site.h"

#include <algorithm>
#include <filesystem>
#include <set>
#include <utility>

#include "fieldfare/app/first_day.h"
#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/reminders.h"
#include "fieldfare/app/site_facts.h"
#include "fieldfare/app/site_folder.h"
#include "fieldfare/site/names.h"
#include "fieldfare/site/site_writer.h"

namespace fieldfare::app {
namespace {

/// Many hearings a commit; enough to be quick, few enough to wait in memory.
constexpr std::size_t kManyAtOnce = 50'000;

/// Reports of an address that nobody spoke of: one alone may be a damaged frame.
constexpr std::uint64_t kFewestReports = 2;

/// Stores what is heard, and hands it on.
class Storing : public wire::HearingStream {
 public:
  Storing(HearingKeeper& keeper, const DeskInlets& inlets, wire::HearingStream& out)
      : keeper_{keeper}, inlets_{inlets}, out_{out} {}

  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag) override {
    if (auto taken = keeper_.append(hearing, tag, inlets_.current()); !taken)
      fault_ = taken.error();
    out_.hearing(hearing, tag);
  }
  void unread(const wire::Unread& unread) override {
    keeper_.keep_unread(unread, inlets_.current());
    out_.unread(unread);
  }
  const std::optional<Complaint>& fault() const { return fault_; }

 private:
  HearingKeeper& keeper_;
  const DeskInlets& inlets_;
  wire::HearingStream& out_;
  std::optional<Complaint> fault_;
};

/// Gives each node a name that no other has.
class Names {
 public:
  std::string take(std::string_view wanted, const std::string& otherwise) {
    const std::string name = site::fitting_name(wanted, otherwise);
    std::string free = name;
    for (int i = 2; !taken_.insert(free).second; ++i) {
      free =
          site::fitting_name(name + ' ' + std::to_string(i), otherwise + ' ' + std::to_string(i));
    }
    return free;
  }

 private:
  std::set<std::string> taken_;
};

bool belongs(const work::DeskRow& row) {
  return row.reports >= kFewestReports || !row.digits.empty() || !row.name.empty();
}

std::string usual_name(const work::DeskRow& row) {
  constexpr std::size_t kTail = 4;
  const std::string& digits = row.digits.empty() ? row.address : row.digits;
  return "node " + digits.substr(digits.size() - std::min(digits.size(), kTail));
}

struct DeskSite {
  fleet::Site site;
  std::vector<std::string> notes;
};

DeskSite site_of(const KeepRequest& request, const work::Desk& desk) {
  DeskSite made;
  made.site.name = site::fitting_name(
      std::filesystem::path{request.folder}.lexically_normal().filename().string(), "desk");
  made.site.timezone = request.timezone;
  made.site.pan_id = request.pan_id;
  made.site.receivers = request.receivers;
  std::optional<std::size_t> kind;
  if (!request.node_sheet.empty()) {
    fleet::NodeSheet sheet;
    sheet.head.name = request.node_sheet;
    made.site.node_sheets.push_back(std::move(sheet));
    kind = 0;
  }
  if (!request.receiver_sheet.empty()) {
    fleet::ReceiverSheet sheet;
    sheet.head.name = request.receiver_sheet;
    made.site.receiver_sheets.push_back(std::move(sheet));
    for (fleet::Receiver& receiver : made.site.receivers) receiver.sheet = 0;
  }
  Names names;
  for (const work::DeskRow& row : desk.view(request.now).rows) {
    if (!belongs(row)) continue;
    fleet::Node node;
    node.address = parse_address(row.address);
    // Logs and frames call a node without an address by its name alone.
    const bool is_named_by_frames = !node.address && !row.address.empty();
    node.name = names.take(is_named_by_frames ? row.address : row.name, usual_name(row));
    node.label = row.digits;
    node.sheet = kind;
    made.site.nodes.push_back(std::move(node));
    made.notes.push_back(is_named_by_frames && !row.name.empty() ? row.name + ". " + row.note
                                                                 : row.note);
  }
  return made;
}

Complaint about(const std::string& folder, std::string what, std::string expected) {
  return {{folder, 0, 0}, std::move(what), std::move(expected)};
}

}  // namespace

std::string desk_site_text(const KeepRequest& request, const work::Desk& desk) {
  const DeskSite made = site_of(request, desk);
  return site::begun_site_text(made.site, made.notes);
}

KeptSite::KeptSite(KeepRequest request, std::string text, fleet::Site site)
    : request_{std::move(request)},
      folder_{request_.folder},
      text_{std::move(text)},
      site_{std::make_unique<fleet::Site>(std::move(site))},
      labels_{std::make_unique<fleet::Labels>()} {
  SiteFacts{site_.get(), {}}.enter_roster(*labels_);
}

Result<std::unique_ptr<KeptSite>, Trouble> KeptSite::begin(const KeepRequest& request,
                                                           const work::Desk& desk,
                                                           const DeskRecord& record,
                                                           wire::HearingStream& out) {
  const std::string text = desk_site_text(request, desk);
  if (site_of(request, desk).site.nodes.empty()) {
    return input_trouble(about(request.folder, "there is nothing to save yet",
                               "a node that was heard twice, or a label that was typed"));
  }
  std::vector<site::NamedText> files = request.sheets;
  files.push_back({"site.toml", text});
  if (auto written = write_folder(request.folder, files); !written) return Failure{written.error()};
  const auto undone = [&](const Trouble& trouble) {
    std::error_code ignored;
    std::filesystem::remove_all(request.folder, ignored);
    return Failure{trouble};
  };
  auto loaded = open_site(request.folder);
  if (!loaded) return undone(loaded.error());
  std::unique_ptr<KeptSite> kept{new KeptSite{request, text, std::move(loaded->site)}};
  if (auto opened = kept->open_store(); !opened) return undone(opened.error());
  if (auto taken = kept->take_in(desk, record, out); !taken) {
    kept.reset();
    return undone(taken.error());
  }
  return kept;
}

Result<Done, Trouble> KeptSite::open_store() {
  auto plans = plan_inlets(*site_, {});
  if (!plans) return Failure{plans.error()};
  plans_ = std::move(*plans);
  inlets_ = std::make_unique<DeskInlets>(
      plans_, *labels_, [this](fleet::NodeIndex node) -> std::optional<std::uint32_t> {
        const auto at = static_cast<std::size_t>(node);
        if (at >= site_->nodes.size() || !site_->nodes[at].sheet) return std::nullopt;
        return static_cast<std::uint32_t>(*site_->nodes[at].sheet);
      });
  auto lock = ListeningLock::take(folder_);
  if (!lock) return Failure{lock.error()};
  lock_.emplace(std::move(*lock));
  auto store = store::Store::open(store_path(folder_), store::Mode::write);
  if (!store) return machine_trouble(store.error());
  store_.emplace(std::move(*store));
  keeper_ = std::make_unique<HearingKeeper>(*store_, *site_, *labels_);
  if (auto begun = keeper_->begin(inlets_->inlets()); !begun) return machine_trouble(begun.error());
  return Done{};
}

Result<Done, Trouble> KeptSite::take_in(const work::Desk& desk, const DeskRecord& record,
                                        wire::HearingStream& out) {
  std::optional<Complaint> fault;
  const auto stored = [&](const store::Outcome& outcome) {
    if (!outcome && !fault) fault = outcome.error();
  };
  for (const judge::Provocation& provocation : desk.day().provocations) {
    stored(provoked(provocation));
  }
  for (const work::Reminder& reminder : desk.view(request_.now).reminders) {
    if (!reminder.told) stored(remind(reminder));
  }
  const auto replayed = record.replay([&](const wire::LoggedBytes& logged) {
    if (fault) return;
    stored(feed(logged, out));
    if (keeper_->pending() >= kManyAtOnce) stored(commit(logged.at.value_or(request_.now)));
  });
  if (!replayed) return Failure{replayed.error()};
  for (Inlet& inlet : inlets_->inlets()) {
    if (const auto mark = request_.marks.find(inlet.receiver()); mark != request_.marks.end()) {
      inlet.take_up(std::vector{mark->second});
    }
  }
  if (!fault) stored(commit(request_.now));
  if (fault) return machine_trouble(std::move(*fault));
  return Done{};
}

store::Outcome KeptSite::feed(const wire::LoggedBytes& logged, wire::HearingStream& out,
                              std::uint64_t mark) {
  Storing storing{*keeper_, *inlets_, out};
  inlets_->feed(
      logged, storing,
      [this](const Inlet& inlet, const Awake& stretch) { keeper_->listened(inlet, stretch); },
      mark);
  if (storing.fault()) return Failure{*storing.fault()};
  return store::Done{};
}

store::Outcome KeptSite::provoked(const judge::Provocation& provocation) {
  store::RosterEvent event;
  event.at = provocation.said;
  event.who = "at the desk";
  event.what = kProvokedEvent;
  event.after = provocation.digits;
  const auto recorded = store_->record_event(event, *labels_);
  if (!recorded) return Failure{recorded.error()};
  return store::Done{};
}

store::Outcome KeptSite::remind(const work::Reminder& reminder) {
  return keep_reminder(*store_, *labels_, {reminder.due, reminder.node, reminder.what});
}

store::Outcome KeptSite::commit(Instant now) { return keeper_->commit(inlets_->inlets(), now); }

Result<Done, Trouble> KeptSite::write_again(const work::Desk& desk) {
  std::string text = desk_site_text(request_, desk);
  if (text == text_) return Done{};
  if (auto written = replace_file(folder_ + "/site.toml", text_, text); !written) return written;
  text_ = std::move(text);
  return Done{};
}

}  // namespace fieldfare::app

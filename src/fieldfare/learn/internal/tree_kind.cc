// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "fieldfare/learn/internal/kinds.h"
#include "fieldfare/learn/internal/slot_roles.h"
#include "fieldfare/learn/internal/slot_trial.h"
#include "fieldfare/learn/internal/text_lines.h"
#include "fieldfare/learn/internal/tree_table.h"

namespace fieldfare::learn {
namespace {

using fleet::Body;
using fleet::FrameFacts;

constexpr std::size_t kMostDocuments = 8000;
constexpr std::size_t kLongestMessage = 65'536;

/// The documents of a sample and the bodies that they were.
struct Documents {
  std::vector<DatedDocument> read;
  std::vector<std::string> bodies;  ///< as many
  Body body = Body::json;
  bool in_lines = false;
  std::size_t all = 0;     ///< lines or messages
  std::size_t octets = 0;  ///< of the sample, as far as it was looked at
};

std::string_view text_of(const fleet::Octets& octets) {
  return {reinterpret_cast<const char*>(octets.data()), octets.size()};
}

bool is_document(const std::optional<Document>& document) {
  return document && !document->leaves.front().pointer.empty();
}

void add(Documents& documents, std::string_view body, std::optional<Instant> at,
         std::optional<Document> document) {
  if (!is_document(document)) return;
  documents.read.push_back({std::move(*document), at});
  documents.bodies.emplace_back(body);
}

/// Messages, each of which is a document.
Documents in_messages(const Sample& sample, Body body) {
  Documents documents;
  documents.body = body;
  for (const Arrival& arrival : sample.arrivals) {
    if (documents.all == kMostDocuments) break;
    ++documents.all;
    documents.octets += arrival.octets.size();
    if (!arrival.whole || arrival.octets.size() > kLongestMessage) continue;
    const std::string_view octets = text_of(arrival.octets);
    add(documents, octets, arrival.at, body == Body::json ? flat_json(octets) : flat_cbor(octets));
  }
  return documents;
}

/// Lines, each of which is a document.
Documents in_lines(const TextLines& lines) {
  Documents documents;
  documents.in_lines = !lines.are_messages;
  documents.all = lines.lines.size();
  documents.octets = lines.octets;
  for (const TextLine& line : lines.lines) {
    const char first = line.text[line.text.find_first_not_of(" \t")];
    if (first == '{' || first == '[') add(documents, line.text, line.at, flat_json(line.text));
  }
  return documents;
}

/// The way that most of the sample can be read in; nothing where that is less than half.
std::optional<Documents> documents_in(const Sample& sample) {
  Documents best;
  const bool has_messages = std::any_of(sample.arrivals.begin(), sample.arrivals.end(),
                                        [](const Arrival& each) { return each.whole; });
  if (has_messages) {
    best = in_messages(sample, Body::json);
    if (2 * best.read.size() < best.all) {
      Documents cbor = in_messages(sample, Body::cbor);
      if (cbor.read.size() > best.read.size()) best = std::move(cbor);
    }
  }
  if (2 * best.read.size() <= best.all) {
    if (const auto lines = text_lines(sample)) {
      Documents lined = in_lines(*lines);
      if (lined.read.size() > best.read.size()) best = std::move(lined);
    }
  }
  if (best.read.size() < 2 || 2 * best.read.size() < best.all) return std::nullopt;
  return best;
}

/// Where in a document the value stands that a name, quoted, stands before; nothing where
/// the name comes more than once.
std::pair<std::size_t, std::size_t> value_behind(std::string_view body, std::string_view name) {
  const std::size_t found = body.find(name);
  if (found == std::string_view::npos || body.find(name, found + 1) != std::string_view::npos)
    return {0, 0};
  const std::size_t from = std::min(body.find_first_not_of(" :", found + name.size()), body.size());
  const bool is_text = from < body.size() && body[from] == '"';
  const std::size_t end = is_text ? body.find('"', from + 1) : body.find_first_of(",}] ", from);
  return {from + (is_text ? 1 : 0), std::min(end, body.size())};
}

class TreeLearner {
 public:
  TreeLearner(const Sample& sample, const Documents& documents)
      : documents_{documents},
        table_{documents.body == Body::json && are_senml(documents.read)
                   ? senml_table(documents.read)
                   : tree_table(documents.read, documents.body)},
        said_{describe(table_.table, sample)} {}

  std::optional<Explained> learn() {
    make_frame();
    if (frame_.fields.empty() || !fleet::faults_of(frame_).empty()) return std::nullopt;
    std::vector<std::string_view> bodies(documents_.bodies.begin(), documents_.bodies.end());
    drop_what_fails(frame_, said_, bodies);
    if (frame_.fields.empty() || !fleet::faults_of(frame_).empty()) return std::nullopt;
    const std::vector<bool> read = read_by(frame_, bodies);
    Explained explained;
    Learnt& learnt = explained.learnt;
    std::size_t octets = 0;
    for (std::size_t i = 0; i < bodies.size(); ++i) {
      if (!read[i]) continue;
      if (learnt.sound++ == 0) show(learnt, documents_.bodies[i]);
      octets += bodies[i].size() + (documents_.in_lines ? 1 : 0);
    }
    if (learnt.sound == 0) return std::nullopt;
    learnt.frames = documents_.all;
    explained.share =
        std::min(1.0, static_cast<double>(octets) / static_cast<double>(documents_.octets));
    say_shape(learnt);
    learnt.findings.insert(learnt.findings.end(), said_.findings.begin(), said_.findings.end());
    say_rest(learnt);
    learnt.sequence = said_.sequence;
    learnt.nodes = said_.nodes;
    learnt.frame = std::move(frame_);
    return explained;
  }

 private:
  void make_frame() {
    frame_.framing = documents_.in_lines ? fleet::Framing::line : fleet::Framing::none;
    frame_.body = table_.body;
    frame_.each = table_.each;
    std::size_t longest = 0;
    for (const std::string& body : documents_.bodies) longest = std::max(longest, body.size());
    if (2 * longest > static_cast<std::size_t>(frame_.most_octets)) {
      frame_.most_octets = static_cast<int>(std::min(2 * longest, kLongestMessage));
    }
    frame_.fields = said_.fields;
  }

  /// The first document, with the values marked that stand behind a name that comes once.
  void show(Learnt& learnt, const std::string& body) const {
    learnt.example.assign(body.begin(), body.end());
    if (table_.body != Body::json) return;
    for (const fleet::FieldLayout& field : frame_.fields) {
      const std::string& pointer = std::get<fleet::AtPointer>(field.place).pointer;
      const auto [from, to] =
          value_behind(body, '"' + pointer.substr(pointer.rfind('/') + 1) + '"');
      if (from < to) learnt.marks.push_back({from, to, field.name});
    }
    std::sort(learnt.marks.begin(), learnt.marks.end(),
              [](const Mark& a, const Mark& b) { return a.from < b.from; });
  }

  Sureness sureness() const {
    constexpr std::size_t kSeveral = 5;
    return documents_.read.size() >= kSeveral ? Sureness::certain : Sureness::likely;
  }

  void say_shape(Learnt& learnt) const {
    const char* const where = documents_.in_lines ? "a line" : "a message";
    learnt.findings.push_back(
        {"framing",
         sureness(),
         fmt::format("one document {}: {} of {}", where, documents_.read.size(), documents_.all),
         {},
         {}});
  }

  void say_rest(Learnt& learnt) const {
    const bool is_senml = table_.body == Body::senml_json;
    std::string what = is_senml                    ? "SenML packs (RFC 8428)"
                       : table_.body == Body::cbor ? "CBOR"
                                                   : "JSON";
    if (!table_.each.empty()) what += ", with a list of reports at " + table_.each;
    learnt.findings.push_back({"body", sureness(), std::move(what), {}, {}});
    if (table_.is_bare_list && !is_senml) {
      learnt.findings.push_back(
          {"body",
           Sureness::open,
           "documents are lists of several reports without a name around them, which a sheet "
           "can't read: the first of each is read",
           {},
           {}});
    }
    const std::size_t unlike = documents_.all - learnt.sound;
    if (unlike > 0) {
      learnt.findings.push_back(
          {"kinds",
           Sureness::open,
           fmt::format("{} of {} are unlike the others: of another kind, or damaged", unlike,
                       documents_.all),
           "a sample of these alone",
           {}});
    }
  }

  const Documents& documents_;
  TreeTable table_;
  Described said_;
  FrameFacts frame_;
};

}  // namespace

std::optional<Explained> learn_tree(const Sample& sample) {
  const auto documents = documents_in(sample);
  if (!documents) return std::nullopt;
  return TreeLearner{sample, *documents}.learn();
}

}  // namespace fieldfare::learn

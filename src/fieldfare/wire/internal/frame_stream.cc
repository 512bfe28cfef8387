// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <string>
#include <utility>

#include "fieldfare/wire/deframer.h"
#include "fieldfare/wire/frame_codec.h"
#include "fieldfare/wire/internal/hearing_maker.h"
#include "fieldfare/wire/internal/stream_reader.h"

namespace fieldfare::wire {
namespace {

/// A layout with all that reading it needs.
struct Kind {
  Kind(const fleet::FrameFacts& frame, std::optional<std::uint32_t> its_tag, fleet::Labels& labels,
       const std::string& receiver)
      : codec{frame}, maker{frame, labels, receiver}, tag{its_tag} {}

  const fleet::FrameFacts& facts() const { return codec.facts(); }
  bool is_framed() const { return facts().framing != fleet::Framing::none; }

  FrameCodec codec;
  HearingMaker maker;
  std::optional<std::uint32_t> tag;
};

/// Why a frame gave nothing, as seen by the kind that came nearest to reading it.
struct Failing {
  enum class Rank : std::uint8_t { nothing, another_kind, bad_check, bad_body };
  Rank rank = Rank::nothing;
  std::string_view code;
  std::string what;

  void note(Rank its_rank, std::string_view its_code, const std::string& its_what) {
    if (its_rank <= rank) return;
    *this = {its_rank, its_code, its_what};
  }
  void note(const BodyError& error, const fleet::FrameFacts& frame) {
    const bool other = error.fault == BodyFault::another_kind;
    note(other ? Rank::another_kind : Rank::bad_body, body_fault_code(error.fault),
         body_error_text(error, frame));
  }
  void note_bad_check() {
    note(Rank::bad_check, "bad-check", "its check doesn't agree: it was damaged on its way");
  }
};

/// Which known node the first report of a body is of.
class Probe : public ReportSink {
 public:
  explicit Probe(const fleet::Labels& labels) : labels_{labels} {}
  void report(const ReportValues& values) override {
    if (!node_ && values.address) node_ = labels_.find(*values.address);
  }
  std::optional<fleet::NodeIndex> node() const { return node_; }

 private:
  const fleet::Labels& labels_;
  std::optional<fleet::NodeIndex> node_;
};

/// The frames of one message, cut by one framing.
class MessageFrames : public FrameSink {
 public:
  void frame(std::span<const std::uint8_t> octets, std::size_t) override {
    frames_.emplace_back(octets.begin(), octets.end());
  }
  void lost(StreamFault fault, std::span<const std::uint8_t>, std::size_t) override {
    fault_ = fault;
  }
  const std::vector<fleet::Octets>& frames() const { return frames_; }
  std::optional<StreamFault> fault() const { return fault_; }

 private:
  std::vector<fleet::Octets> frames_;
  std::optional<StreamFault> fault_;
};

class FrameStream : public StreamReader, private FrameSink {
 public:
  FrameStream(const DecoderOptions& options, fleet::Labels& labels, StreamLedger& ledger)
      : labels_{labels}, ledger_{ledger}, kind_of_{options.kind_of} {
    if (options.receiver_frame != nullptr) {
      receiver_.emplace(*options.receiver_frame, std::nullopt, labels, options.receiver);
    }
    kinds_.reserve(options.known.size());
    for (const KnownFrame& known : options.known) {
      kinds_.emplace_back(*known.frame, known.tag, labels, options.receiver);
    }
    const fleet::FrameFacts* cutting = receiver_ ? &receiver_->facts() : framed_kind();
    if (cutting != nullptr) deframer_ = make_deframer(*cutting);
  }

  void feed(std::span<const std::uint8_t> octets, Instant arrived, HearingStream& out) override {
    begin({arrived, false}, out);
    ledger_.bytes_fed += octets.size();
    if (deframer_ == nullptr) {
      lose("no-framing", octets, octets.size());
      return;
    }
    deframer_->feed(octets, *this);
    ledger_.bytes_pending = deframer_->pending();
  }

  void message(std::span<const std::uint8_t> octets, const Delivery& delivery,
               HearingStream& out) override {
    begin(delivery, out);
    ledger_.bytes_fed += octets.size();
    ledger_.bytes_in_frames += octets.size();
    ++ledger_.frames;
    Failing failing;
    if (read_message(octets, failing)) {
      ++ledger_.frames_read;
    } else {
      leave_unread(failing, octets);
    }
  }

  void finish(Instant at, HearingStream& out) override {
    begin({at, false}, out);
    if (deframer_ != nullptr) deframer_->finish(*this);
    ledger_.bytes_pending = 0;
  }

 private:
  const fleet::FrameFacts* framed_kind() const {
    const auto framed = std::find_if(kinds_.begin(), kinds_.end(),
                                     [](const Kind& kind) { return kind.is_framed(); });
    return framed == kinds_.end() ? nullptr : &framed->facts();
  }

  void begin(const Delivery& delivery, HearingStream& out) {
    delivery_ = delivery;
    out_ = &out;
  }

  void frame(std::span<const std::uint8_t> octets, std::size_t taken) override {
    ledger_.bytes_in_frames += taken;
    ++ledger_.frames;
    Failing failing;
    if (receiver_ ? read_wrapped(octets, failing) : read_as_kind(octets, nullptr, true, failing)) {
      ++ledger_.frames_read;
    } else {
      leave_unread(failing, octets);
    }
  }

  void lost(StreamFault fault, std::span<const std::uint8_t> octets, std::size_t taken) override {
    lose(stream_fault_code(fault), octets, taken);
  }

  void lose(std::string_view code, std::span<const std::uint8_t> octets, std::size_t taken) {
    ledger_.bytes_lost += taken;
    count(ledger_.lost_by_reason, code);
    out_->unread({delivery_.at, code, "bytes that belong to no frame", octets, taken});
  }

  void leave_unread(const Failing& failing, std::span<const std::uint8_t> octets) {
    ++ledger_.frames_unread;
    const std::string_view code = failing.code.empty() ? "no-sheet" : failing.code;
    count(ledger_.unread_by_reason, code);
    out_->unread({delivery_.at, code,
                  failing.what.empty() ? "no sheet describes such a frame" : failing.what, octets,
                  octets.size()});
  }

  static void count(StreamLedger::ByReason& counts, std::string_view code) {
    const auto known = counts.find(code);
    if (known != counts.end()) {
      ++known->second;
    } else {
      counts.emplace(code, 1);
    }
  }

  /// A message is a frame, or holds frames of the framing that a sheet says.
  bool read_message(std::span<const std::uint8_t> octets, Failing& failing) {
    if (receiver_) {
      if (!receiver_->is_framed()) return read_wrapped(octets, failing);
      return read_framed(receiver_->facts(), octets, failing);
    }
    if (read_as_kind(octets, nullptr, false, failing)) return true;
    const fleet::FrameFacts* framed = framed_kind();
    return framed != nullptr && read_framed(*framed, octets, failing);
  }

  bool read_framed(const fleet::FrameFacts& framing, std::span<const std::uint8_t> octets,
                   Failing& failing) {
    MessageFrames frames;
    const auto deframer = make_deframer(framing);
    deframer->feed(octets, frames);
    deframer->finish(frames);
    if (frames.fault()) {
      failing.note(Failing::Rank::bad_body, stream_fault_code(*frames.fault()),
                   "a part of the message belongs to no frame");
    }
    bool any = false;
    for (const fleet::Octets& frame : frames.frames()) {
      const bool read =
          receiver_ ? read_wrapped(frame, failing) : read_as_kind(frame, nullptr, true, failing);
      any = any || read;
    }
    return any;
  }

  /// The receiver's frame, and what it wraps.
  bool read_wrapped(std::span<const std::uint8_t> octets, Failing& failing) {
    if (!receiver_->codec.check_holds(octets)) {
      failing.note_bad_check();
      return false;
    }
    class Unwrap : public ReportSink {
     public:
      explicit Unwrap(FrameStream& stream) : stream_{stream} {}
      void report(const ReportValues& values) override { stream_.unwrap(values); }

     private:
      FrameStream& stream_;
    };
    Unwrap unwrapped{*this};
    gathered_.clear();
    if (const auto error = receiver_->codec.body().decode(octets, unwrapped)) {
      gathered_.clear();
      failing.note(*error, receiver_->facts());
      return false;
    }
    hand_over();
    return true;
  }

  void unwrap(const ReportValues& values) {
    if (!values.payload) {
      gather(*receiver_, values, nullptr);
      return;
    }
    Failing failing;
    if (!gather_kind(*values.payload, &values, std::nullopt, failing)) {
      refuse(failing.code.empty() ? "no-sheet" : failing.code,
             failing.what.empty() ? "no sheet describes such a payload" : failing.what,
             *values.payload);
    }
  }

  bool read_as_kind(std::span<const std::uint8_t> octets, const ReportValues* outer, bool framed,
                    Failing& failing) {
    gathered_.clear();
    const bool read = gather_kind(octets, outer, framed, failing);
    hand_over();
    return read;
  }

  /// Kinds with framing, those without, or (nothing) all.
  using Framed = std::optional<bool>;

  /// Has the one kind read the octets that can; of several, the one that the
  /// roster says, else the first.
  bool gather_kind(std::span<const std::uint8_t> octets, const ReportValues* outer, Framed framed,
                   Failing& failing) {
    Kind* chosen = kinds_.size() == 1 ? &kinds_.front() : choose(octets, framed, failing);
    if (chosen == nullptr || (framed && chosen->is_framed() != *framed)) return false;
    if (!chosen->codec.check_holds(octets)) {
      failing.note_bad_check();
      return false;
    }
    class Gather : public ReportSink {
     public:
      Gather(FrameStream& stream, Kind& kind, const ReportValues* outer)
          : stream_{stream}, kind_{kind}, outer_{outer} {}
      void report(const ReportValues& values) override { stream_.gather(kind_, values, outer_); }

     private:
      FrameStream& stream_;
      Kind& kind_;
      const ReportValues* outer_;
    };
    Gather gathering{*this, *chosen, outer};
    const auto error = chosen->codec.body().decode(octets, gathering);
    if (error) failing.note(*error, chosen->facts());
    return !error;
  }

  Kind* choose(std::span<const std::uint8_t> octets, Framed framed, Failing& failing) {
    Kind* chosen = nullptr;
    for (Kind& kind : kinds_) {
      if (framed && kind.is_framed() != *framed) continue;
      if (!kind.codec.check_holds(octets)) {
        failing.note_bad_check();
        continue;
      }
      Probe probe{labels_};
      if (const auto error = kind.codec.body().decode(octets, probe)) {
        failing.note(*error, kind.facts());
        continue;
      }
      if (kind_of_ && probe.node() && kind_of_(*probe.node()) == kind.tag) return &kind;
      if (chosen == nullptr) chosen = &kind;
    }
    return chosen;
  }

  /// A report on its way to a hearing; its readings lie in readings_.
  struct Gathered {
    fleet::Hearing hearing;
    std::size_t first_reading = 0;
    std::size_t readings = 0;
    std::optional<std::uint32_t> tag;
    bool knew_the_time = false;
  };

  void gather(Kind& kind, const ReportValues& values, const ReportValues* outer) {
    if (gathered_.empty()) readings_.clear();
    Gathered report;
    report.first_reading = readings_.size();
    const Refusal refusal = kind.maker.make(values, outer, delivery_, report.hearing, readings_);
    if (refusal != Refusal::none) {
      readings_.resize(report.first_reading);
      refuse(refusal_code(refusal), std::string{refusal_text(refusal)}, {});
      return;
    }
    report.readings = readings_.size() - report.first_reading;
    report.tag = kind.tag;
    report.knew_the_time = kind.maker.knew_the_time();
    gathered_.push_back(report);
  }

  void refuse(std::string_view code, const std::string& what,
              std::span<const std::uint8_t> octets) {
    ++ledger_.reports;
    ++ledger_.reports_refused;
    out_->unread({delivery_.at, code, what, octets, octets.size()});
  }

  void hand_over() {
    if (gathered_.size() > 1) mark_batches();
    for (Gathered& report : gathered_) {
      report.hearing.readings = {readings_.data() + report.first_reading, report.readings};
      ++ledger_.reports;
      ++ledger_.hearings;
      out_->hearing(report.hearing, report.tag);
    }
    gathered_.clear();
  }

  /// Several reports of a node that say no time arrived together, but were not
  /// sent together.
  void mark_batches() {
    for (Gathered& report : gathered_) {
      const auto same_node = [&](const Gathered& other) {
        return &other != &report && other.hearing.node == report.hearing.node;
      };
      report.hearing.batched =
          report.hearing.batched ||
          (!report.knew_the_time && std::any_of(gathered_.begin(), gathered_.end(), same_node));
    }
  }

  fleet::Labels& labels_;
  StreamLedger& ledger_;
  std::function<std::optional<std::uint32_t>(fleet::NodeIndex)> kind_of_;
  std::optional<Kind> receiver_;
  std::vector<Kind> kinds_;
  std::unique_ptr<Deframer> deframer_;

  Delivery delivery_;
  HearingStream* out_ = nullptr;
  std::vector<Gathered> gathered_;
  std::vector<fleet::Reading> readings_;
};

}  // namespace

bool share_framing(const fleet::FrameFacts& a, const fleet::FrameFacts& b) {
  if (a.framing != b.framing || a.most_octets != b.most_octets) return false;
  switch (a.framing) {
    case fleet::Framing::length_prefixed:
      return a.start == b.start && a.prefix && b.prefix && a.prefix->at == b.prefix->at &&
             a.prefix->octets == b.prefix->octets && a.prefix->order == b.prefix->order &&
             a.prefix->adds == b.prefix->adds;
    case fleet::Framing::delimited:
      return a.start == b.start && a.end == b.end && a.length == b.length;
    default:
      return true;
  }
}

std::unique_ptr<StreamReader> make_frame_reader(const DecoderOptions& options,
                                                fleet::Labels& labels, StreamLedger& ledger) {
  return std::make_unique<FrameStream>(options, labels, ledger);
}

}  // namespace fieldfare::wire

// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/store.h"

#include <fcntl.h>
#include <openssl/evp.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cassert>
#include <cerrno>
#include <cstring>
#include <string>
#include <utility>

#include "fieldfare/store/internal/schema.h"
#include "fieldfare/store/internal/store_impl.h"

namespace fieldfare::store {
namespace {

/// SQLite would make the file readable to others, and gives the files beside it
/// the permissions that this one has.
void make_private(const std::filesystem::path& file) {
  const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, S_IRUSR | S_IWUSR);
  if (descriptor < 0) {
    throw Fault{SQLITE_CANTOPEN,
                std::string{"it can't be opened for writing: "} + std::strerror(errno),
                "a folder that exists and that this user may write to"};
  }
  ::close(descriptor);
}

/// The ids under which a node's hearings are kept, as a checkpoint names them.
/// One kept under other ids is evidence of something else.
std::string subject_of(const Names& names, std::optional<fleet::NodeIndex> node) {
  if (!node) return "all";
  std::string subject;
  for (const std::uint32_t id : names.ids(*node)) {
    subject += (subject.empty() ? "" : ",") + std::to_string(id);
  }
  return subject;
}

void bind_optional(Statement& statement, int parameter, const std::optional<std::string>& text) {
  if (text) {
    statement.bind(parameter, *text);
  } else {
    statement.bind_null(parameter);
  }
}

std::optional<std::string> optional_text(const Statement& statement, int column) {
  if (statement.is_null(column)) return std::nullopt;
  return std::string{statement.text(column)};
}

}  // namespace

void prepare_for_writing(Database& database, const Options& options) {
  refuse_strangers(database, migrations());
  // What the figures in docs/decisions/0006-store-layout.md were measured with.
  database.run("PRAGMA journal_mode = WAL");
  database.run("PRAGMA synchronous = FULL");
  database.run("PRAGMA cache_size = -65536");
  database.run("PRAGMA wal_autocheckpoint = 4000");
  if (options.most_bytes != 0) {
    const auto page = static_cast<std::uint64_t>(database.integer("PRAGMA page_size"));
    database.run("PRAGMA max_page_count = " + std::to_string(options.most_bytes / page));
  }
  migrate(database, migrations());
}

std::string sha256(std::string_view bytes) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw Fault{SQLITE_ERROR, "SHA-256 is not to be had", "the OpenSSL library in working order"};
  }
  return {reinterpret_cast<const char*>(digest.data()), length};
}

Store::Store(std::unique_ptr<Impl> impl) : impl_{std::move(impl)} {}
Store::~Store() = default;
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;

Result<Store, Complaint> Store::open(const std::filesystem::path& file, Mode mode,
                                     Options options) {
  try {
    if (mode == Mode::write) make_private(file);
    Database database{file, mode == Mode::write ? Database::Access::write : Database::Access::read,
                      options.patience};
    if (mode == Mode::write) {
      prepare_for_writing(database, options);
    } else {
      check_version(database, migrations());
    }
    return Store{std::make_unique<Impl>(Impl{file, mode, std::move(database), {}})};
  } catch (const Fault& fault) {
    return Failure{complaint_of(fault, file)};
  }
}

Outcome Store::load_labels(fleet::Labels& labels) {
  return impl_->guarded<Done>([&] {
    const Transaction transaction{impl_->database, Transaction::Kind::read};
    impl_->names.load(impl_->database, labels);
    return Done{};
  });
}

Outcome Store::save_labels(const fleet::Labels& labels) {
  return impl_->guarded<Done>([&] {
    impl_->demand_writing();
    Transaction transaction{impl_->database, Transaction::Kind::write};
    Names names;
    for (std::uint32_t node = 0; node < labels.node_count(); ++node) {
      names.id_of(impl_->database, labels, fleet::NodeIndex{node});
    }
    for (std::uint32_t receiver = 0; receiver < labels.receiver_count(); ++receiver) {
      names.id_of(impl_->database, labels, fleet::ReceiverIndex{receiver});
    }
    transaction.commit();
    return Done{};
  });
}

Outcome Store::save_checkpoints(std::span<const Checkpoint> checkpoints, fleet::Labels& labels) {
  return impl_->guarded<Done>([&] {
    impl_->demand_writing();
    Transaction transaction{impl_->database, Transaction::Kind::write};
    impl_->names.load(impl_->database, labels);
    Statement keep = impl_->database.prepare(
        "INSERT INTO checkpoint(subject, watermark, version, state) VALUES(?, ?, ?, ?)"
        " ON CONFLICT(subject) DO UPDATE SET watermark = excluded.watermark,"
        " version = excluded.version, state = excluded.state");
    for (const Checkpoint& checkpoint : checkpoints) {
      const std::string subject = subject_of(impl_->names, checkpoint.node);
      assert(!subject.empty());
      keep.bind(1, subject);
      keep.bind(2, checkpoint.watermark);
      keep.bind(3, checkpoint.version);
      keep.bind_bytes(4, checkpoint.state);
      keep.run();
    }
    transaction.commit();
    return Done{};
  });
}

Result<std::vector<Checkpoint>, Complaint> Store::load_checkpoints(fleet::Labels& labels) {
  return impl_->guarded<std::vector<Checkpoint>>([&] {
    const Transaction transaction{impl_->database, Transaction::Kind::read};
    impl_->names.load(impl_->database, labels);
    Statement query =
        impl_->database.prepare("SELECT subject, watermark, version, state FROM checkpoint");
    std::vector<Checkpoint> found;
    while (query.step()) {
      const std::string subject{query.text(0)};
      std::optional<fleet::NodeIndex> node;
      if (subject != "all") {
        const auto first_id =
            static_cast<std::uint32_t>(std::strtoul(subject.c_str(), nullptr, 10));
        node = impl_->names.node(first_id);
        if (subject_of(impl_->names, node) != subject) continue;
      }
      found.push_back({node, query.integer(1), query.integer(2), std::string{query.bytes(3)}});
    }
    return found;
  });
}

Result<std::int64_t, Complaint> Store::record_event(const RosterEvent& event,
                                                    const fleet::Labels& labels) {
  return impl_->guarded<std::int64_t>([&] {
    impl_->demand_writing();
    Transaction transaction{impl_->database, Transaction::Kind::write};
    Statement add = impl_->database.prepare(
        "INSERT INTO roster_event(at_ns, who, node, what, before, after, why)"
        " VALUES(?, ?, ?, ?, ?, ?, ?)");
    add.bind(1, event.at.ns);
    add.bind(2, event.who);
    if (event.node) {
      Names names;
      add.bind(3, std::int64_t{names.id_of(impl_->database, labels, *event.node)});
    }
    add.bind(4, event.what);
    bind_optional(add, 5, event.before);
    bind_optional(add, 6, event.after);
    add.bind(7, event.why);
    add.run();
    const std::int64_t id = impl_->database.integer("SELECT last_insert_rowid()");
    transaction.commit();
    return id;
  });
}

Result<std::vector<RosterEvent>, Complaint> Store::roster_history(
    fleet::Labels& labels, std::optional<fleet::NodeIndex> node) {
  return impl_->guarded<std::vector<RosterEvent>>([&] {
    const Transaction transaction{impl_->database, Transaction::Kind::read};
    impl_->names.load(impl_->database, labels);
    Statement query = impl_->database.prepare(
        "SELECT id, at_ns, who, node, what, before, after, why FROM roster_event ORDER BY id");
    std::vector<RosterEvent> events;
    while (query.step()) {
      RosterEvent event;
      if (!query.is_null(3)) {
        event.node = impl_->names.node(static_cast<std::uint32_t>(query.integer(3)));
      }
      if (node && event.node != node) continue;
      event.id = query.integer(0);
      event.at = {query.integer(1)};
      event.who = query.text(2);
      event.what = query.text(4);
      event.before = optional_text(query, 5);
      event.after = optional_text(query, 6);
      event.why = query.text(7);
      events.push_back(std::move(event));
    }
    return events;
  });
}

Result<std::optional<Import>, Complaint> Store::find_import(std::string_view head) {
  return impl_->guarded<std::optional<Import>>([&]() -> std::optional<Import> {
    // The one that reaches furthest of those whose beginning is this one's.
    Statement query = impl_->database.prepare(
        "SELECT head_bytes, head_sha256, id, name, size_bytes, bytes_taken, rows_taken,"
        " rows_skipped, at_ns FROM import WHERE head_bytes BETWEEN 1 AND ?"
        " ORDER BY head_bytes DESC");
    query.bind(1, static_cast<std::int64_t>(head.size()));
    std::size_t hashed = 0;
    std::string hash;
    while (query.step()) {
      const auto length = static_cast<std::size_t>(query.integer(0));
      if (length != hashed) {
        hashed = length;
        hash = sha256(head.substr(0, length));
      }
      if (query.bytes(1) != hash) continue;
      const auto count = [&](int column) {
        return static_cast<std::uint64_t>(query.integer(column));
      };
      return Import{query.integer(2), std::string{query.text(3)}, count(4), count(5), count(6),
                    count(7),         {query.integer(8)}};
    }
    return std::nullopt;
  });
}

Result<std::vector<SkippedRow>, Complaint> Store::skipped_rows(std::int64_t import_id) {
  return impl_->guarded<std::vector<SkippedRow>>([&] {
    Statement query = impl_->database.prepare(
        "SELECT line, why, quote FROM import_skip WHERE import = ? ORDER BY line");
    query.bind(1, import_id);
    std::vector<SkippedRow> rows;
    while (query.step()) {
      rows.push_back({static_cast<std::uint64_t>(query.integer(0)), std::string{query.text(1)},
                      std::string{query.text(2)}});
    }
    return rows;
  });
}

}  // namespace fieldfare::store

// SPDX-License-Identifier: Apache-2.0
//
// Logs of which it is known what was sent. Where a counter starts with the first
// heard and ends with the last heard report, heard of expected is an identity of
// counting: it shows that nothing was miscounted. That intervals hold the truth
// as often as they claim is shown with generated logs, not here.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

// Counted from the published list of packets sent; data set jsi-unb-868 (SOURCE.md).
TEST_F(RealLogs, DeliveryOfTheNarrowbandRunsIsThatOfTheListOfPacketsSent) {
  struct Run {
    const char* file;
    int sent, received;
    double mean_loss_run;
  };
  for (const Run& run :
       {Run{"2016-09_3rep.csv.gz", 1000, 977, 1.045}, Run{"2016-09_norep.csv.gz", 1000, 904, 1.333},
        Run{"2016-09_randgain.csv.gz", 5000, 4649, 1.618}}) {
    SCOPED_TRACE(run.file);
    const json& delivery = node_of(answer_for("jsi-unb-868", run.file), "0001").at("delivery");
    EXPECT_EQ(delivery.at("expected"), run.sent);
    EXPECT_EQ(delivery.at("heard"), run.received);
    EXPECT_NEAR(delivery.at("mean_loss_run").get<double>(), run.mean_loss_run, 0.0006);
  }
}

// The runs lose packets in clumps, and the clumped interval has to be wider than
// that of independent losses: half-width 1.96 sqrt(p (1 - p) / n).
TEST_F(RealLogs, AnIntervalIsWiderThanThatOfIndependentLossesWhereLossesComeInRuns) {
  for (const char* file : {"2016-09_norep.csv.gz", "2016-09_randgain.csv.gz"}) {
    const json& delivery = node_of(answer_for("jsi-unb-868", file), "0001").at("delivery");
    const double p = delivery.at("ratio");
    const double n = delivery.at("expected");
    const double independent = 2 * 1.96 * std::sqrt(p * (1 - p) / n);
    const double width = delivery.at("high").get<double>() - delivery.at("low").get<double>();
    EXPECT_GT(width, 1.1 * independent) << file;
  }
}

class YardNode3 : public RealLogs {
 protected:
  /// Until where the node's own record of what it sent reaches.
  static json answer() {
    app::JudgeRequest request;
    request.to = parse_rfc3339("2021-07-01T00:00:00Z");
    return judge({log_path("hast-lora-yard", "yard_nodes2_3_rx.csv.gz")}, request);
  }
};

// Data set hast-lora-yard: the record has counters 25 to 17851, the receiver
// heard 17635 of them.
TEST_F(YardNode3, WasHeardAsOftenAsItsOwnRecordSays) {
  const json sequence = node_of(answer(), "0003").at("sequence");
  EXPECT_EQ(sequence.at("expected"), 17851 - 25 + 1);
  EXPECT_EQ(sequence.at("missed"), 17827 - 17635);
}

std::int64_t sent_within(const LogLines& record, const std::string& from, const std::string& to) {
  // Times in UTC as text with the same number of digits sort as they follow.
  const auto within = [&](const std::string& row) {
    const std::string time = row.substr(0, std::string{"2021-05-04T16:04:18"}.size());
    return from.substr(0, time.size()) < time && time < to.substr(0, time.size());
  };
  return std::ranges::count_if(record.rows, within);
}

// Delivery leaves the receiver's silences out. What it leaves out for node 3 has
// to be what the node's own record says was sent meanwhile: 51 reports.
TEST_F(YardNode3, IsNotChargedForWhatItSentWhileTheReceiverWasSilent) {
  const json judged = answer();
  const LogLines record = read_log(log_path("hast-lora-yard", "yard_node3_sent.csv.gz"));
  std::int64_t unheard = 0;
  for (const json& silence : judged.at("receiver_silences")) {
    unheard += sent_within(record, silence.at("from"), silence.at("to"));
  }
  const json& delivery = node_of(judged, "0003").at("delivery");
  EXPECT_EQ(unheard, 51);
  EXPECT_EQ(delivery.at("heard"), 17635);
  EXPECT_EQ(delivery.at("expected"), 17827 - unheard);
  const double truth = 17635.0 / static_cast<double>(17827 - unheard);
  EXPECT_LE(delivery.at("low"), truth);
  EXPECT_GE(delivery.at("high"), truth);
}

// Data set rutgers-orbit: 300 packets sent on each of 812 links (29 nodes, each
// to 28 others). Links on which nothing arrived stand in no log.
TEST_F(RealLogs, MeanDeliveryOverAllLinksOfATestbedIsThatOfThePacketsSent) {
  struct Noise {
    const char* file;
    double mean_delivery;
    int links, complete;
  };
  for (const Noise& noise : {Noise{"noise_minus10.csv.gz", 0.7016, 812 - 150, 28},
                             Noise{"noise_minus05.csv.gz", 0.5106, 812 - 245, 21},
                             Noise{"noise_minus00.csv.gz", 0.3074, 812 - 367, 22}}) {
    SCOPED_TRACE(noise.file);
    int links = 0;
    int complete = 0;
    std::int64_t heard = 0;
    for (const json& node : answer_for("rutgers-orbit", noise.file).at("nodes")) {
      for (const json& link : node.at("links")) {
        const std::int64_t reports = link.at("reports");
        heard += reports;
        ++links;
        if (reports == 300) ++complete;
      }
    }
    EXPECT_EQ(links, noise.links);
    EXPECT_EQ(complete, noise.complete);
    EXPECT_NEAR(static_cast<double>(heard) / 300 / 812, noise.mean_delivery, 0.00006);
  }
}

}  // namespace
}  // namespace fieldfare::real

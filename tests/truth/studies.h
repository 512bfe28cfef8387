// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "tally.h"

namespace fieldfare::truth {

/// Every group of logs that the estimators are measured with. All invented.
std::vector<Study> all_studies();

/// Judges some logs of one setting.
using Judge = std::function<std::vector<Judged>(const std::vector<Log>&, const Facts&)>;

/// judge_log() for each.
std::vector<Judged> judge_in_process(const std::vector<Log>& logs, const Facts& facts);

/// Generates `logs` logs, whose seeds follow from the study's name and their
/// number alone, has them judged and counts.
std::vector<Figure> measured(const Study& study, std::size_t logs, const Judge& judge);

/// All studies on all cores, each with `logs` logs, in the order of the studies;
/// then what they say together (pooled()).
std::vector<Figure> measured(const std::vector<Study>& studies, std::size_t logs,
                             const Judge& judge);

/// Shares that have limits, summed up for each measure: more logs tell smaller
/// faults from chance. Medians are left out.
std::vector<Figure> pooled(const std::vector<Figure>& figures);

}  // namespace fieldfare::truth

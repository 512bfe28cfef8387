// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "fieldfare/judge/first_day.h"
#include "fieldfare/render/words.h"
#include "fieldfare/work/desk.h"

namespace fieldfare::render::internal {

/// In one unit, to two digits: `12 s`, `7.1 min`, `2 d`.
std::string short_span(Duration duration);
/// How long ago, in one unit, whole ones: `12 s`, `7 min`; `now` below a second.
std::string age_words(Duration age);
/// With its sign: `+0.3 s`, `-12 s`.
std::string offset_words(Duration offset);
/// A moment of the day of `now` as `14:15:03`, of another day with its date.
std::string clock_words(Instant moment, Instant now);
/// `21.4 °C`; where the unit has no sign, `soil_raw 812`.
std::string reading_words(const judge::NamedValue& reading, bool unicode);
/// `17 +1`, `17` at a node's first report; empty without a counter.
std::string counter_words(const work::DeskRow& row);

/// `later` less `earlier`, at most as long as a Duration can be.
Duration span_between(Instant earlier, Instant later);

/// The fewest last digits of addresses, at least four, that tell those of this desk
/// apart.
std::size_t tail_size(const work::DeskView& view);
/// The last `size` digits; of what isn't hex, a node's name in place of an address,
/// all.
std::string tail_of(const std::string& digits, std::size_t size);

/// What a node is called in a sentence: its name, else its label, else its address.
std::string called(const work::DeskRow& row);

}  // namespace fieldfare::render::internal

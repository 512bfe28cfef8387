// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/judge_view.h"

namespace fieldfare::render {

Stretch heard_stretch(const judge::FleetVerdict& verdict) {
  Stretch stretch;
  for (const judge::NodeVerdict& node : verdict.nodes) {
    const evidence::Heard& heard = node.evidence.heard;
    if (heard.first && (!stretch.first || *heard.first < *stretch.first)) {
      stretch.first = heard.first;
    }
    if (heard.last && (!stretch.last || *stretch.last < *heard.last)) stretch.last = heard.last;
  }
  return stretch;
}

const char* word_of(judge::Claim claim) {
  switch (claim) {
    case judge::Claim::identity:
      return "identity";
    case judge::Claim::cadence:
      return "cadence";
    case judge::Claim::delivery:
      return "delivery";
    case judge::Claim::margin:
      return "margin";
    case judge::Claim::counter:
      return "counter";
    case judge::Claim::reading:
      return "reading";
    case judge::Claim::settings:
      return "settings";
  }
  return "";
}

const char* word_of(judge::Outcome outcome) {
  switch (outcome) {
    case judge::Outcome::met:
      return "met";
    case judge::Outcome::open:
      return "open";
    case judge::Outcome::failed:
      return "failed";
  }
  return "";
}

const char* word_of(evidence::BreakKind kind) {
  switch (kind) {
    case evidence::BreakKind::reset:
      return "reset";
    case evidence::BreakKind::jump:
      return "jump";
    case evidence::BreakKind::stood_still:
      return "stood_still";
  }
  return "";
}

}  // namespace fieldfare::render

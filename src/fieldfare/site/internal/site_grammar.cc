// SPDX-License-Identifier: Apache-2.0
// The keys of site.toml. Ranges are those of sense, wide on purpose: they catch a
// slipped sign, a slipped unit or a slipped point.
#include "fieldfare/site/internal/grammar.h"

namespace fieldfare::site {
namespace {

constexpr double kSecondsADay = 86400;
constexpr double kSecondsAYear = 365.25 * kSecondsADay;

constexpr std::string_view kMountings[] = {"air", "wall", "metal", "pipe", "tank", "wet wall"};

constexpr Key kSiteHeadKeys[] = {
    {.name = "name", .form = Form::name, .meaning = "what people call the place", .required = true},
    {.name = "invented",
     .form = Form::flag,
     .meaning = "the site does not exist; said on every screen and paper of it"},
    {.name = "timezone",
     .form = Form::timezone,
     .meaning = "IANA name of the time zone that screens and papers use; UTC where absent"},
    later("region", "limits of the region"),
    later("origin", "where on earth the site lies"),
};
constexpr Section kSiteHead = {"[site]", kSiteHeadKeys};

constexpr Key kNeedKeys[] = {
    {.name = "fresh_within",
     .form = Form::duration,
     .meaning = "the newest reading is to be no older than this",
     .least = 1,
     .most = kSecondsAYear},
    {.name = "fresh_probability",
     .form = Form::number,
     .meaning = "share of the time in which it is; 0.99 where absent",
     .least = 0.5,
     .most = 0.999999},
    {.name = "life",
     .form = Form::duration,
     .meaning = "how long a set of cells is to last",
     .least = kSecondsADay,
     .most = 100 * kSecondsAYear},
    {.name = "air_temperature_c",
     .form = Form::range,
     .meaning = "air at the place, coldest and warmest",
     .unit = "°C",
     .least = -90,
     .most = 150},
};
constexpr Section kNeed = {"[need.NAME]", kNeedKeys};

constexpr Key kProofKeys[] = {
    {.name = "delivery_good",
     .form = Form::number,
     .meaning = "share of reports heard that should pass; 0.97 where absent",
     .least = 0.5,
     .most = 0.9999},
    {.name = "delivery_bad",
     .form = Form::number,
     .meaning = "share of reports heard that should fail; 0.90 where absent",
     .least = 0.01,
     .most = 0.9999},
    {.name = "alpha",
     .form = Form::number,
     .meaning = "risk that a good node fails; 0.05 where absent",
     .least = 0.0001,
     .most = 0.4},
    {.name = "beta",
     .form = Form::number,
     .meaning = "risk that a bad node passes; 0.05 where absent",
     .least = 0.0001,
     .most = 0.4},
    {.name = "soak",
     .form = Form::duration,
     .meaning = "how long nodes run before they are handed over; 48 h where absent",
     .least = 60,
     .most = kSecondsAYear},
    {.name = "margin_db",
     .form = Form::number,
     .meaning = "mean signal above the sensitivity; 10 where absent (common practice)",
     .unit = "dB",
     .least = 0,
     .most = 60},
    later("notices_per_month", "false-notice budget of the site"),
};
constexpr Section kProof = {"[proof]", kProofKeys};

constexpr Key kSharedRadioKeys[] = {
    {.name = "channel",
     .form = Form::whole,
     .meaning = "as the nodes' makers count channels",
     .least = 0,
     .most = 255},
    {.name = "pan_id",
     .form = Form::pan_id,
     .meaning = "of the site's IEEE 802.15.4 network; short addresses in the roster are of it"},
    later("key", "a name in the vault"),
};
constexpr Section kSharedRadio = {"[radio]", kSharedRadioKeys};

constexpr Key kAtM = {.name = "at_m",
                      .form = Form::position,
                      .meaning = "where it is: x east, y north, z up",
                      .unit = "m",
                      .least = -100000,
                      .most = 100000};

constexpr std::string_view kContents[] = {"frames", "log"};
constexpr Key kReceiverKeys[] = {
    {.name = "name",
     .form = Form::name,
     .meaning = "what logs and people call it",
     .required = true},
    {.name = "sheet", .form = Form::name, .meaning = "name of a receiver sheet"},
    {.name = "source", .form = Form::text, .meaning = "where its hearings come in, as a URL"},
    {.name = "content",
     .form = Form::choice,
     .meaning = "what comes from its source: frames as the sheets say, or rows of a log; frames "
                "where absent and a sheet has any",
     .words = kContents},
    kAtM,
};
constexpr Section kReceiverSection = {"[[receiver]]", kReceiverKeys};

constexpr Key kCardKeys[] = {
    {.name = "interval",
     .form = Form::duration,
     .meaning = "time from report to report",
     .least = 0.1,
     .most = kSecondsAYear},
};
constexpr Section kCard = {"card", kCardKeys};

constexpr Key kNodeKeys[] = {
    {.name = "name", .form = Form::name, .meaning = "what people call it", .required = true},
    {.name = "address",
     .form = Form::address,
     .meaning = "as on its label, 1 to 16 hex digits; absent where logs give the name"},
    {.name = "label",
     .form = Form::address,
     .meaning =
         "last digits of its label, as somebody read them, 1 to 16 hex digits: what is heard "
         "of it is held against them"},
    {.name = "sheet", .form = Form::name, .meaning = "name of a node sheet"},
    {.name = "need", .form = Form::name, .meaning = "name of a need"},
    kAtM,
    {.name = "mounting", .form = Form::choice, .meaning = "what it hangs on", .words = kMountings},
    {.name = "card", .form = Form::table, .meaning = "settings fixed by hand", .section = &kCard},
    {.name = "cells_fitted", .form = Form::date, .meaning = "day on which its cells were fitted"},
    later("antenna", "how its antenna is turned"),
};
constexpr Section kNodeSection = {"[[node]]", kNodeKeys};

constexpr Key kSiteKeys[] = {
    {.name = "site",
     .form = Form::table,
     .meaning = "the place",
     .required = true,
     .section = &kSiteHead},
    {.name = "need",
     .form = Form::named_tables,
     .meaning = "what the users of the data ask for",
     .section = &kNeed},
    {.name = "radio",
     .form = Form::table,
     .meaning = "what all nodes share",
     .section = &kSharedRadio},
    {.name = "proof",
     .form = Form::table,
     .meaning = "what verdicts are held to",
     .section = &kProof},
    {.name = "receiver",
     .form = Form::tables,
     .meaning = "a receiver",
     .section = &kReceiverSection},
    {.name = "node", .form = Form::tables, .meaning = "a node", .section = &kNodeSection},
    later("state", "conditions the place takes"),
    later("storey", "storeys"),
    later("wall", "walls"),
    later("material", "materials measured here"),
    later("trees", "trees"),
    later("candidate", "where a receiver could go"),
};

}  // namespace

constinit const Section kSiteFile = {"site.toml", kSiteKeys};

}  // namespace fieldfare::site

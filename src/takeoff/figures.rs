//! What figures a take-off has, and how each is reckoned.

/// A figure of a take-off.
#[derive(Debug, PartialEq, Eq)]
pub struct What {
    /// Its name: `free-area`.
    pub name: &'static str,
    /// What the trade calls it, where that is not its name's words.
    trade_words: Option<&'static str>,
    /// How it is reckoned.
    pub reckoned: &'static str,
}

impl What {
    /// It in the trade's words.
    pub fn words(&self) -> String {
        self.trade_words.map_or_else(|| self.name.replace('-', " "), str::to_string)
    }
}

macro_rules! figures {
    (@words) => { None };
    (@words $trade:literal) => { Some($trade) };
    ($($title:literal { $($name:ident = $word:literal $(as $trade:literal)?, $reckoned:literal;)* })*) => {
        $($(
            #[doc = $reckoned]
            pub static $name: What = What { name: $word, trade_words: figures!(@words $($trade)?), reckoned: $reckoned };
        )*)*

        /// All of them, by what they are of.
        pub static ALL: &[(&str, &[&What])] = &[$(($title, &[$(&$name),*])),*];
    };
}

figures! {
    "areas" {
        ROOM_AREA = "room-area", "the area inside the outline";
        TAKEN_OFF = "taken-off", "room area less what stands on the floor: fixtures, but for those raised by the free height or more, and other levels; where two overlap, once";
        CLEARANCE = "clearance", "limit `clearance` of the rule `heated-share`";
        FREE_HEIGHT = "free-height", "limit `free-height` of the rule `heated-share`";
        CLEARANCE_AREA = "clearance-area", "a strip as wide as the clearance along the walls and along what stands on the floor";
        FREE_AREA = "free-area", "room area less what is taken off and the clearance's strip";
        HEATED_AREA = "heated-area", "the part of the free area within half the usual spacing of a cable, or half way to runs farther off";
        HEATED_SHARE = "heated-share", "heated area over free area";
        COLD_REACH = "cold-reach", "limit `reach` of the rule `cold-patch`";
        COLD_PATCHES = "cold-patches", "connected parts of the free area farther than the cold reach from every run; those under the rule's limit `crumb` are passed over";
        COLD_AREA = "cold-area", "the areas of the cold patches, added up";
        LARGEST_COLD = "largest-cold-patch", "the area of the largest cold patch";
    }
    "obstacle" {
        OBSTACLE_KIND = "what", "as the plan says";
        OBSTACLE_AREA = "area", "of its shape as drawn, also where it overlaps another or leaves the room";
        OBSTACLE_COUNTS = "floor-under-it", "taken off where it stands on the floor or lower than the free height; a level on which a cable starts is heated for itself";
    }
    "cable" {
        KIT = "kit", "as the plan says";
        LAID = "laid-length", "the runs, with corners rounded to the kit's bending radius, or to half a turn where that is less; sharp where the kit gives none";
        SUPPLIED = "supplied-length", "the kit's, of its heating part";
        DIFFERENCE = "laid-over-supplied", "laid length less supplied length, as a share of the supplied";
        RUNS = "runs", "straight pieces";
        PITCH = "pitch" as "spacing c/c", "between neighbouring parallel runs: the median over their length";
        VOLTAGE = "voltage", "the supply's, or the kit's where no supply gives one";
        POWER = "power", "the kit's output times the square of voltage over rated voltage";
        CURRENT = "current", "power over voltage";
        RESISTANCE = "cold-resistance" as "resistance at 20 °C", "the kit's, cold; where its maker gives none, square of the rated voltage over output";
        LEAST_RESISTANCE = "least-resistance" as "least resistance at 20 °C", "the resistance less the kit's tolerance, or less the limit `below` of the rule `resistance-reading`";
        GREATEST_RESISTANCE = "greatest-resistance" as "greatest resistance at 20 °C", "the resistance and the kit's tolerance, or the limit `above` of the rule `resistance-reading`";
        TAIL = "tail-length" as "cold tail", "the kit's, of its cold tail";
        TAIL_ROUTE = "tail-route" as "cold tail needed", "from the junction box down the wall and along the floor to the cable's start";
        SECOND_TAIL_ROUTE = "second-tail-route" as "second cold tail needed", "the same for the tail at the far end of a single-conductor cable";
        NARROWEST = "narrowest-strip", "the least width of floor that a stretch of the cable heats, half way to its neighbours on both sides, in the mean over one spacing";
        WIDEST = "widest-strip", "the greatest such width";
        CABLE_DENSITY = "power-density", "power over all the floor that the cable heats, each stretch its strip, for the supplied length";
        GREATEST_DENSITY = "greatest-power-density", "power per length over the narrowest strip";
        MEAN_SURFACE = "mean-surface", "the floor over the cable at full power in the steady state, its strips at their mean width: a two-dimensional field of parallel cables in the floor's layers, EN 1264-2 to the room";
        PEAK_SURFACE = "peak-surface", "the same right over the run where its strip is narrowest";
        COOLEST_SURFACE = "coolest-surface", "the same at the edge of its strip where that is widest";
        DOWNWARD = "downward-share", "the heat that is lost below, over all that the cable gives";
        SHEATH = "sheath-temperature", "the mean round the cable's sheath at full power where its strip is narrowest";
    }
    "thermostat" {
        RATED = "rated", "as the plan says";
        FLOOR_LIMIT = "floor-limit", "as the plan says: how warm it lets the floor get";
        CONTACTOR = "contactor", "as the plan says";
        CONTACTOR_RATED = "contactor-rated", "as the plan says";
        CONTACTOR_CATEGORY = "contactor-category", "as the plan says: what load the rating is for";
        FED_BY = "supply", "as the plan says";
        CABLES = "cables", "cables that it switches";
        LOAD_POWER = "power", "of its cables, added up";
        LOAD = "load", "the currents of its cables, added up";
        PARALLEL = "cold-resistance" as "resistance at 20 °C", "of its cables in parallel: 1/R is the sum of 1/R of each";
        LEAST_PARALLEL = "least-resistance" as "least resistance at 20 °C", "the least of its cables in parallel";
        GREATEST_PARALLEL = "greatest-resistance" as "greatest resistance at 20 °C", "the greatest of its cables in parallel";
    }
    "heat" {
        INSIDE = "inside", "as the plan says";
        BELOW = "below", "as the plan says: of the room below, or of the ground at the floor's underside";
        ROOM_DENSITY = "power-density", "power of the cables over all the floor that their strips take";
        ROOM_SURFACE = "mean-surface", "over the free area at full power; what no cable heats counts with the temperature it has of itself";
        WARMEST = "warmest-surface", "where the free floor is warmest at full power, by the map of the floor: cables as they lie, in the floor's layers, EN 1264-2 to the room; the free floor here reaches up to walls and what stands on it";
        WARMEST_AT = "warmest-at", "where that is";
        COOLEST = "coolest-surface", "where the free floor is coolest at full power, by the same map";
        COOLEST_AT = "coolest-at", "where that is";
        HOTTEST_SHEATH = "hottest-sheath", "the mean round a cable's sheath where it is hottest at full power, by the same map";
        HOTTEST_AT = "hottest-at", "where that is";
        OVER_OCCUPIED = "over-occupied", "the share of the free floor warmer than its room by more than the limit `occupied` of the rule `surface-temperature`, by the same map";
        OVER_EDGE = "over-edge", "the same for the limit `edge`";
        OVER_TIMBER = "over-timber", "the share of the free floor warmer than the limit `timber` of the rule `surface-temperature`, whatever covers it";
        OVER_GREATEST = "over-greatest", "the same for the limit `greatest`";
        MAP_CELL = "map-cell", "how wide the cells of the map are; a peak over a run is reckoned by itself";
        HEAT_OUTPUT = "heat-to-the-room", "at full power in the steady state";
        HEAT_BELOW = "heat-below", "at full power in the steady state";
        ROOM_DOWNWARD = "downward-share", "heat below over heat below and heat to the room";
        HEAT_LOSS = "heat-loss", "the room's, as the plan says";
        RUNNING_POWER = "running-power", "what the cables take in the mean over time to make up for the heat loss, with what is lost below; in the steady state";
        HEAT_UP_TIME = "heat-up-time", "at full power from cold until the mean surface makes up for the heat loss: one-dimensional transient flow through the layers in implicit steps, heat capacities of EN ISO 10456, the room and what lies below at their temperatures throughout";
        HEAT_UP_ENERGY = "heat-up-energy", "full power over the heat-up time";
        HEAT_COVER = "heat-over-loss", "heat to the room over the room's heat loss";
    }
    "kit" {
        KIT_COUNT = "count", "cables of the room that name it";
        KIT_LENGTH = "cable-length", "count times the kit's length";
        KIT_MAT = "mat", "the kit's: how wide and how long its mesh is, and how far apart the cable's runs lie on it";
        KIT_TAILS = "tail-length" as "cold tails", "count times the kit's cold tail, two of a single-conductor kit";
    }
    "fixing" {
        TAPE_SPACING = "tape-spacing", "as asked for; 500 mm where nothing is, common practice";
        TAPE_LENGTH = "tape-length", "for each run longer than the spacing a spacing of tape at both ends and at most a tape spacing apart between them; none for mats, whose mesh holds the cable";
    }
    "sensor" {
        CONDUIT = "conduit-length", "from its thermostat down the wall and along the floor to the tip";
        LEAD = "lead-length" as "sensor cable", "as the plan says";
    }
    "layer" {
        THICKNESS = "thickness", "as the plan says";
        LAYER_AREA = "layer-area", "room area less what is taken off";
        VOLUME = "volume", "thickness times layer area; no cable, joint or waste is reckoned";
    }
    "order" {
        NUMBER = "number", "so many of them, over all rooms that are ordered for";
    }
    "note" {
        NOTED = "noted-on", "as the record says";
        NOTE = "note", "what was built otherwise than drawn, as the record says";
        NOTE_AT = "place", "where on the plan, as the record says";
        PHOTOGRAPH = "photograph", "the name of its file, as the record says";
    }
    "supply" {
        SUPPLY_VOLTAGE = "voltage", "as the plan says";
        RCD = "rcd" as "RCD", "as the plan says: rated residual current";
        RCD_TYPE = "rcd-type" as "RCD type", "as the plan says: by IEC 60755";
        BREAKER = "breaker", "as the plan says: rated current In";
        FUSE = "fuse", "as the plan says: rated current of the fuse in a connection unit";
        CONDUCTOR = "conductor", "as the plan says";
        DESIGN_CURRENT = "design-current" as "design current Ib", "the currents of all cables on it, in whatever room, added up";
        CAPACITY = "conductor-carries" as "current-carrying capacity Iz", "by cross-section, installation, insulation, ambient temperature, circuits bunched and thermal insulation, IEC 60364-5-52, tables B.52.2, B.52.3, B.52.14 and B.52.17, and BS 7671, table 52.2, recalled";
        DROP = "voltage-drop", "out and back at the design current, with the conductor as warm as at full load";
        DROP_SHARE = "voltage-drop-share", "voltage drop over voltage";
        DROP_BEFORE = "voltage-drop-before" as "voltage drop before", "as the plan says: the share lost between the origin of the installation and this supply";
    }
}

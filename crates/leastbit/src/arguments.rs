//! What may be written on the command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

const EXIT_CODES: &str = "\
Exit codes: 0 every need is met; 1 not all are; 2 the input cannot be used.
Colour appears on a terminal only, and not with NO_COLOR set.";

/// Judges measuring boards described in one text file each.
#[derive(Debug, Parser)]
#[command(version, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    New(New),
    Desk(Desk),
    Check(Check),
    Budget(Budget),
    Response(Response),
    Noise(Noise),
    Schedule(Schedule),
    Links(Links),
    Course(Course),
    Rails(Rails),
    Faults(Faults),
    Bound(Bound),
    Interference(Interference),
    Words(Words),
    Parts(Parts),
    Explain(Explain),
}

/// Where parts come from, beside the shipped library.
#[derive(Debug, Args)]
pub(crate) struct PartFolders {
    /// Folder with part files of your own (every *.toml in it); may be given
    /// more than once. A part with the name of another one is refused.
    #[arg(long = "parts", value_name = "DIR", global = true)]
    pub folders: Vec<PathBuf>,
}

/// Opens a board in a page on this machine: see it at a glance, follow every
/// number, change values and see at once what they do. Nothing is written
/// until it is saved.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit desk examples/cellar-rack.toml
  leastbit desk --no-browser --port 8017 board.toml

{EXIT_CODES}"))]
pub(crate) struct Desk {
    /// The board file; none opens the start page.
    pub board: Option<PathBuf>,
    /// Port to listen on; a free one where none is given.
    #[arg(long, default_value_t = 0)]
    pub port: u16,
    /// Print the address without opening a browser.
    #[arg(long)]
    pub no_browser: bool,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the address as JSON, for other programs.
    #[arg(long)]
    pub json: bool,
}

/// Writes a commented starter board for a controller and some sensors, with
/// stages, reference and pins chosen from the parts' figures. Never writes
/// over a file.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit new --list
  leastbit new cellar.toml --controller stm32g474 --sensor ntc-10k-3950-1-percent
  leastbit new rack.toml --controller press-house-f103 \\
      --sensor tank-1=platinum-1000-class-a --sensor room=sht41

{EXIT_CODES}"))]
pub(crate) struct New {
    /// The board file to write.
    #[arg(required_unless_present = "list")]
    pub file: Option<PathBuf>,
    /// Controller, carrier or converter.
    #[arg(long, value_name = "ID", required_unless_present = "list")]
    pub controller: Option<String>,
    /// A sensor, as PART or NAME=PART, NAME being that of its channel; may be
    /// given more than once.
    #[arg(long = "sensor", value_name = "ID", required_unless_present = "list")]
    pub sensors: Vec<String>,
    /// List the controllers and sensors there are.
    #[arg(long, conflicts_with_all = ["file", "controller", "sensors"])]
    pub list: bool,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Verdict for every channel of a board: need, worst case, propagation,
/// Monte Carlo, yield, and what to do.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit check examples/first-divider.toml
  leastbit check --brief --parts our-parts board.toml
  leastbit check --json board.toml > verdict.json

{EXIT_CODES}"))]
pub(crate) struct Check {
    /// The board file.
    pub board: PathBuf,
    #[command(flatten)]
    pub circumstances: Circumstances,
    #[command(flatten)]
    pub parts: PartFolders,
    /// One line per channel and finding.
    #[arg(long)]
    pub brief: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub svg: Svg,
}

/// Where one channel's error comes from: every contributor with kind, share,
/// sensitivity and source, before and after calibration.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit budget examples/first-divider.toml pump-supply
  leastbit budget --working board.toml tank-1

{EXIT_CODES}"))]
pub(crate) struct Budget {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel.
    pub channel: String,
    #[command(flatten)]
    pub circumstances: Circumstances,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Also show the way from the quantity to the error, with the numbers put
    /// in.
    #[arg(long)]
    pub working: bool,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What the mains and other disturbing tones leave in the readings: damping
/// by chain, filter and average, where each shows, and what nulls them.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit interference examples/cellar-rack.toml
  leastbit interference board.toml tank-1 --seen \"5.5 Hz ± 0.1 Hz\"

{EXIT_CODES}"))]
pub(crate) struct Interference {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel; every one that enters a converter without it.
    pub channel: Option<String>,
    /// A tone that shows in the readings: say what it may be.
    #[arg(long, value_name = "FREQ")]
    pub seen: Option<String>,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What digital words can say: form, limits, the bytes of the span's ends and
/// what a wrong sign form or byte order would make of them; and what bytes that
/// were seen mean.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit words examples/bus-words.toml
  leastbit words board.toml stove --reads \"4095 °C\"
  leastbit words board.toml room --decode \"0x66 0x34 0x9D\" --decode 0x8000A2

{EXIT_CODES}
Here 1 means that a word holds less than it must or that bytes are not to be used."))]
pub(crate) struct Words {
    /// The board file.
    pub board: PathBuf,
    /// Name of the word; otherwise all.
    pub word: Option<String>,
    /// Bytes that were seen, in the order in which they came, with those of
    /// the check or without; may be given more than once.
    #[arg(long, value_name = "BYTES")]
    pub decode: Vec<String>,
    /// A reading that a driver shows: say what may stand behind it if the
    /// bytes are taken wrongly; may be given more than once.
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    pub reads: Vec<String>,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Which circumstances.
#[derive(Debug, Args)]
pub(crate) struct Circumstances {
    /// In a scenario of the board file, after its last event.
    #[arg(long, value_name = "NAME")]
    pub scenario: Option<String>,
}

/// A picture of the answer.
#[derive(Debug, Args)]
pub(crate) struct Svg {
    /// Also write the answer's picture to this file, as SVG; a file that is
    /// there already is refused.
    #[arg(long = "svg", value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Write over the picture's file if it is there.
    #[arg(long, requires = "file")]
    pub force: bool,
}

/// How a converter's input follows its sensor: gain and phase over frequency,
/// corner, what is left of the mains, settling after a step, time constants.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit response examples/cellar-rack.toml
  leastbit response board.toml tank-1 --at \"300 kHz\" --at \"1 MHz\"
  leastbit response board.toml tank-1 --svg tank-1.svg

{EXIT_CODES}
Here 1 means that no channel asked for has a response."))]
pub(crate) struct Response {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel; otherwise all.
    pub channel: Option<String>,
    /// Also at this frequency; may be given more than once.
    #[arg(long, value_name = "FREQUENCY", allow_hyphen_values = true)]
    pub at: Vec<String>,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What makes readings of a steady quantity differ: every source of noise
/// with its density, its size in codes and in the quantity's unit, and the
/// resolution left.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit noise examples/cellar-rack.toml tank-1
  leastbit noise board.toml --json
  leastbit noise board.toml tank-1 --svg noise.svg --force

{EXIT_CODES}
Here 1 means that no channel asked for has a noise that can be told."))]
pub(crate) struct Noise {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel; otherwise all.
    pub channel: Option<String>,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// Whether drivers and receivers understand each other: the levels of every
/// pair over the corners of their rails, pull-ups, clocks and pins, and what
/// to change where they do not.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit links examples/cellar-rack.toml
  leastbit links board.toml --svg levels.svg

{EXIT_CODES}
Here 1 means that a link fails."))]
pub(crate) struct Links {
    /// The board file.
    pub board: PathBuf,
    #[command(flatten)]
    pub circumstances: Circumstances,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// When each converter reads its channels: turns, rates reached and asked,
/// what settling and the channel before leave in a reading, and which
/// resistance, acquisition or capacitor would do.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit schedule examples/cellar-rack.toml
  leastbit schedule board.toml --svg turns.svg

{EXIT_CODES}
Here 1 means that a channel does not settle or is not read as often as asked."))]
pub(crate) struct Schedule {
    /// The board file.
    pub board: PathBuf,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What rails carry, what that warms and what shared returns do: the tree of
/// supplies with their loads and limits, drop-out, inrush, droop, junctions,
/// battery life.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit rails examples/cellar-rack.toml
  leastbit rails board.toml --svg rails.svg

{EXIT_CODES}
Here 1 means that a rail, its heat or a return is beyond a limit."))]
pub(crate) struct Rails {
    /// The board file.
    pub board: PathBuf,
    #[command(flatten)]
    pub circumstances: Circumstances,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// How a channel's network moves in time, with every limit of its parts:
/// after the quantity has stepped from one end of its span to the other, or
/// while the supplies come up.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit course examples/cellar-rack.toml tank-1
  leastbit course board.toml pump --event burst --lasts \"2 ms\"
  leastbit course board.toml tank-1 --event power-up --until \"20 ms\" --svg up.svg

{EXIT_CODES}
Here 1 means that the channel has no course."))]
pub(crate) struct Course {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel.
    pub channel: String,
    /// What happens.
    #[arg(long, value_enum, default_value_t = Event::Step)]
    pub event: Event,
    /// How long a burst lasts.
    #[arg(
        long,
        value_name = "TIME",
        allow_hyphen_values = true,
        required_if_eq("event", "burst")
    )]
    pub lasts: Option<String>,
    /// How long to follow it; otherwise until it has settled.
    #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
    pub until: Option<String>,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What happens in a course.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Event {
    /// The quantity steps from the low end of its span to the high one.
    Step,
    /// The quantity goes to the high end of its span for a time and back.
    Burst,
    /// Every supply comes up from nothing.
    PowerUp,
}

/// What happens when a wire is cut, touches ground, a rail or its neighbour,
/// or a component opens or shorts: pins, currents, heat, the code and the
/// reading that result, and whether the firmware can tell.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit faults examples/cellar-rack.toml
  leastbit faults board.toml tank-1 --components
  leastbit faults board.toml --svg faults.svg

{EXIT_CODES}
Here 1 means that a fault the board must stand destroys a part, or that one it
must tell reads like a value."))]
pub(crate) struct Faults {
    /// The board file.
    pub board: PathBuf,
    /// Name of the channel; otherwise all.
    pub channel: Option<String>,
    /// Also the single faults of components that the board need not stand.
    #[arg(long)]
    pub components: bool,
    #[command(flatten)]
    pub circumstances: Circumstances,
    #[command(flatten)]
    pub parts: PartFolders,
    #[command(flatten)]
    pub svg: Svg,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// How far one value of the board may go: the largest (or smallest) for which
/// a result stays within its limit, and what to buy.
///
/// PATH leads to the value through the file, keys and list positions between
/// dots: `rails.main.voltage`, `channels.tank-1.chain.pull-up` (the first
/// pull-up), `channels.tank-1.sensor.leads`.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Results (--result):
  half-width    error at the probability asked, by Monte Carlo (the default)
  propagation   the same by propagation; quicker
  worst-case    the worst case
  code-error    the half-width in codes; half a code unless --limit says else
  yield         share of boards that meet the need; 99 % unless --limit says else
  shift         how far the reading moves if the board is built with the other
                value and the firmware is not told
  code-shift    the same in codes; half a code unless --limit says else
  any check by its name, such as reference-load or regulator-dropout

Examples:
  leastbit bound examples/first-divider.toml channels.pump-supply.chain.divider.top
  leastbit bound board.toml channels.tank-1.sensor.leads --largest --limit \"0.1 °C\"
  leastbit bound board.toml channels.x.sensor.source-resistance --result code-shift
  leastbit bound board.toml channels.x.chain.pull-up --vary tolerance
  leastbit bound board.toml conditions.ambient --vary high --channel x
  leastbit bound board.toml references.vref.series --result shunt-current-low

{EXIT_CODES}
Here 1 means that no value in the range looked at keeps the result within."))]
pub(crate) struct Bound {
    /// The board file.
    pub board: PathBuf,
    /// Path of the value in it.
    pub path: String,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Channel whose result is meant; otherwise the one in the path, or all
    /// that have a need, whichever is hit first.
    #[arg(long, value_name = "NAME")]
    pub channel: Option<String>,
    /// The largest value (the default).
    #[arg(long, conflicts_with = "smallest")]
    pub largest: bool,
    /// The smallest value.
    #[arg(long)]
    pub smallest: bool,
    /// What must stay within the limit.
    #[arg(long, value_name = "RESULT", default_value = "half-width")]
    pub result: String,
    /// The limit; otherwise the channel's need.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub limit: Option<String>,
    /// What of the value is varied.
    #[arg(long, value_enum, default_value_t = Part::Value)]
    pub vary: Part,
    /// Where to begin looking; otherwise a thousandth of what is written.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub from: Option<String>,
    /// Where to end; otherwise a thousand times what is written.
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    pub to: Option<String>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

/// What of a value is varied.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Part {
    /// The value itself.
    Value,
    /// Its tolerance.
    Tolerance,
    /// Its drift.
    Drift,
    /// The lower end of a range.
    Low,
    /// The upper end of a range.
    High,
}

/// The parts there are: all of them, those that have every one of some words,
/// or one with all its figures and their sources.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit parts
  leastbit parts search shunt reference 2.5
  leastbit parts show adr5041-b
  leastbit parts --parts our-parts search bridge

{EXIT_CODES}"))]
pub(crate) struct Parts {
    #[command(subcommand)]
    pub what: Option<PartsWhat>,
    #[command(flatten)]
    pub parts: PartFolders,
    /// Print the result as JSON.
    #[arg(long, global = true)]
    pub json: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum PartsWhat {
    /// All parts.
    List,
    /// The parts that have every one of the words in their name, kind, title,
    /// maker, quantity or law.
    Search {
        /// Words; capitals do not count.
        #[arg(required = true)]
        words: Vec<String>,
    },
    /// One part with all its figures and where each comes from.
    Show {
        /// Its name.
        id: String,
    },
}

/// The page on a finding: what it means, why it matters, how it is computed,
/// what to do. Without an id, all there are.
#[derive(Debug, Args)]
#[command(after_help = format!("\
Examples:
  leastbit explain
  leastbit explain reference.span-exceeds

{EXIT_CODES}"))]
pub(crate) struct Explain {
    /// Id of a finding, as `check` prints it.
    pub id: Option<String>,
    /// Print the result as JSON.
    #[arg(long)]
    pub json: bool,
}

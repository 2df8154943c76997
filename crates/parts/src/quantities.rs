//! The quantities that can be measured, by the names used in files.

use quantity::Dimension as D;

/// Name and dimension of every quantity.
const TABLE: &[(&str, D)] = &[
    ("acceleration", D::ACCELERATION),
    ("angle", D::ANGLE),
    ("carbon-dioxide", D::NONE),
    ("charge", D::CHARGE),
    ("concentration", D::NONE),
    ("conductivity", D::CONDUCTANCE.over(D::LENGTH)),
    ("count", D::NONE),
    ("current", D::CURRENT),
    ("density", D::DENSITY),
    ("energy", D::ENERGY),
    ("field", D::MAGNETIC_FLUX_DENSITY),
    ("flow", D::FLOW),
    ("force", D::FORCE),
    ("frequency", D::FREQUENCY),
    ("humidity", D::HUMIDITY),
    ("illuminance", D::ILLUMINANCE),
    ("irradiance", D::IRRADIANCE),
    ("length", D::LENGTH),
    ("level", D::LENGTH),
    ("mass", D::MASS),
    ("mass-flow", D::MASS_FLOW),
    ("oxygen", D::NONE),
    ("ph", D::PH),
    ("position", D::LENGTH),
    ("power", D::POWER),
    ("pressure", D::PRESSURE),
    ("ratio", D::NONE),
    ("resistance", D::RESISTANCE),
    ("speed", D::SPEED),
    ("strain", D::NONE),
    ("temperature", D::TEMPERATURE),
    ("time", D::TIME),
    ("torque", D::ENERGY),
    ("voltage", D::VOLTAGE),
    ("volume", D::VOLUME),
];

/// The dimension of a quantity by name; `None` for an unknown name.
///
/// ```
/// assert_eq!(parts::quantity_dimension("pressure"), Some(quantity::Dimension::PRESSURE));
/// assert_eq!(parts::quantity_dimension("presure"), None);
/// ```
#[must_use]
pub fn quantity_dimension(name: &str) -> Option<D> {
    TABLE.iter().find(|(n, _)| *n == name).map(|(_, d)| *d)
}

/// The names of all quantities.
pub fn quantity_names() -> impl Iterator<Item = &'static str> {
    TABLE.iter().map(|(name, _)| *name)
}

/// The supplies that a limit can be given relative to.
pub const SUPPLIES: &[&str] = &[
    "supply",
    "analog-supply",
    "digital-supply",
    "io-supply",
    "supply-a",
    "supply-b",
    "reference",
];

/// What can be said of a pin.
pub const PIN_ATTRIBUTES: &[&str] = &[
    "input-only",
    "strapping",
    "radio-shared",
    "5v-tolerant",
    "not-5v-tolerant",
    "crystal",
    "debug",
    "boot",
];

/// Habits of a digital part that a driver must know: a reading restarts its
/// conversion, so that one asked too often never gives a new number; its data
/// output stays driven while another part is selected.
pub const HABITS: &[&str] = &["read-restarts", "holds-bus"];

/// The digital buses a part can speak.
pub const BUSES: &[&str] = &["i2c", "spi", "uart", "single-wire", "smbus", "parallel"];

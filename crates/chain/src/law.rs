//! Sensor laws: how a quantity becomes an electrical value, and back.
//!
//! Each law is one file of the folder `law`, registered once in [`LAWS`].
//! A law writes formulas onto a tape: [`Law::forward`] with the parameters as
//! they really are (each may carry a tolerance), [`Law::inverse`] with the
//! ones that the firmware assumes. Both read the same [`ParameterSpec`]s, so
//! that a parts file, a board file and the physics cannot disagree about a
//! name or a dimension.
//!
//! All values are in SI units. Temperatures are absolute, in kelvin.
//!
//! ```
//! use chain::law::{Parameters, find};
//! use quantity::Dimension;
//!
//! let builder = tape::Builder::new();
//! let platinum = find("platinum").expect("registered");
//! let mut p = Parameters::new(&builder, platinum, Dimension::TEMPERATURE);
//! p.set("nominal-resistance", builder.constant(100.0))?;
//! let boiling = builder.input("temperature", "K", 373.15);
//! let ohm = platinum.forward(boiling, &p, &|_| None)?;
//! assert!((ohm.nominal() - 138.5055).abs() < 1e-9);
//! # Ok::<(), chain::law::LawFault>(())
//! ```

mod bridge;
mod current_per_kelvin;
mod current_transformer;
mod digital;
mod direct;
mod gauge;
mod glass_electrode;
mod hall;
mod interface;
mod line;
mod linear_voltage;
mod loop_current;
mod newton;
mod parameters;
mod photodiode;
mod photoresistor;
mod platinum;
mod points;
mod polynomial_voltage;
mod potentiometer;
mod pulse_rate;
mod ratiometric_voltage;
mod resistance_table;
mod shunt;
mod strain_gauge;
mod thermistor_beta;
mod thermistor_polynomial;
mod thermistor_steinhart;
mod thermocouple;
mod voltage_table;

pub use interface::{
    Auxiliaries, Electrical, Law, LawFault, ParameterSpec, PointsSpec, WordSpec, ZERO_CELSIUS_K,
};
pub use loop_current::{largest_loop_resistance, ne43};
pub use parameters::Parameters;

/// Every law there is, in the order in which they are listed to users.
static LAWS: &[&dyn Law] = &[
    &platinum::Platinum,
    &thermistor_beta::ThermistorBeta,
    &thermistor_steinhart::ThermistorSteinhart,
    &thermistor_polynomial::ThermistorPolynomial,
    &resistance_table::ResistanceTable,
    &photoresistor::Photoresistor,
    &potentiometer::Potentiometer,
    &bridge::Bridge,
    &strain_gauge::StrainGauge,
    &gauge::Gauge,
    &hall::Hall,
    &linear_voltage::LinearVoltage,
    &ratiometric_voltage::RatiometricVoltage,
    &polynomial_voltage::PolynomialVoltage { ratiometric: false },
    &polynomial_voltage::PolynomialVoltage { ratiometric: true },
    &voltage_table::VoltageTable { ratiometric: false },
    &voltage_table::VoltageTable { ratiometric: true },
    &thermocouple::Thermocouple,
    &glass_electrode::GlassElectrode,
    &shunt::Shunt,
    &loop_current::LoopCurrent,
    &current_transformer::CurrentTransformer,
    &current_per_kelvin::CurrentPerKelvin,
    &photodiode::Photodiode,
    &pulse_rate::PulseRate,
    &digital::Digital,
    &direct::Direct {
        electrical: Electrical::Voltage,
    },
    &direct::Direct {
        electrical: Electrical::Current,
    },
    &direct::Direct {
        electrical: Electrical::Resistance,
    },
];

/// The law of this name.
#[must_use]
pub fn find(name: &str) -> Option<&'static dyn Law> {
    LAWS.iter().copied().find(|law| law.name() == name)
}

/// The names of all laws.
pub fn names() -> impl Iterator<Item = &'static str> {
    LAWS.iter().map(|law| law.name())
}

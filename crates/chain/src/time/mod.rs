//! Time and noise: what a reading has of the moment it is taken.
//!
//! [`Timing`] holds, for a whole board, when each channel has its turn
//! ([`schedule`]), what the sample capacitor has of its pin then
//! ([`settle`]) and the noise at the converter's input ([`noise`]). All rests
//! on the very networks of the static model, made straight ([`straight`]);
//! [`crate::channel::build_with`] puts the results into the reading.

mod alone;
pub mod awake;
pub mod course;
pub mod interferer;
pub mod noise;
pub mod reference;
pub mod response;
pub mod schedule;
pub mod settle;
pub mod spectrum;
pub mod straight;

use board::Board;

use crate::channel::Unmodelled;
use noise::ChannelNoise;
use schedule::Schedule;
use settle::{SamplerFigures, SettledScan, Unsettled};
use straight::Straight;

/// What sampling does to every reading of a board.
#[derive(Clone, Debug, Default)]
pub struct Timing {
    /// One per converter.
    pub converters: Vec<Converter>,
    /// One per channel of the board.
    pub channels: Vec<Sampled>,
}

/// One converter in time.
#[derive(Clone, Debug)]
pub struct Converter {
    /// Who has its turn when.
    pub schedule: Schedule,
    /// What the sample capacitor does; why not, where that is not known.
    pub scan: Result<SettledScan, String>,
}

/// One channel in time.
#[derive(Clone, Debug, Default)]
pub struct Sampled {
    /// What the sample capacitor has not reached.
    pub settling: Option<Unsettled>,
    /// Noise at the converter's input.
    pub noise: Option<ChannelNoise>,
    /// Why there is no noise, where the channel enters a converter.
    pub no_noise: String,
}

impl Timing {
    /// Works out the times of a board. What cannot be known is left out and
    /// said.
    #[must_use]
    pub fn of(board: &Board) -> Timing {
        Timing::of_with(board, |jobs, work| jobs.iter().map(work).collect())
    }

    /// [`of`](Timing::of) with the channels worked on by `each`, in any
    /// order; the answers come back in that of the jobs.
    #[must_use]
    pub fn of_with(
        board: &Board,
        each: impl Fn(&[Job], &(dyn Fn(&Job) -> Made + Sync)) -> Vec<Made>,
    ) -> Timing {
        Timing::of_schedules(board, schedule::schedules(board), each)
    }

    /// The times of the converters that one channel's reading rests on: its
    /// own, and all of them where the reading uses those of other channels.
    #[must_use]
    pub fn for_channel(
        board: &Board,
        name: &str,
        each: impl Fn(&[Job], &(dyn Fn(&Job) -> Made + Sync)) -> Vec<Made>,
    ) -> Timing {
        let channel = board.channels.iter().find(|c| c.name == name);
        let own = channel
            .filter(|c| {
                c.derived.is_none()
                    && c.sensor.auxiliaries.is_empty()
                    && c.conversion.steps.is_empty()
            })
            .and_then(|c| c.input.as_ref());
        let schedules = match own {
            Some(n) => schedule::schedule(board, n.device, n.unit)
                .into_iter()
                .collect(),
            None => schedule::schedules(board),
        };
        Timing::of_schedules(board, schedules, each)
    }

    fn of_schedules(
        board: &Board,
        schedules: Vec<Schedule>,
        each: impl Fn(&[Job], &(dyn Fn(&Job) -> Made + Sync)) -> Vec<Made>,
    ) -> Timing {
        let mut jobs = Vec::new();
        for (s, schedule) in schedules.iter().enumerate() {
            for (t, turn) in schedule.turns.iter().enumerate() {
                jobs.push(Job {
                    channel: turn.channel,
                    schedule: s,
                    turn: t,
                });
            }
        }
        let samplers: Vec<Option<SamplerFigures>> = schedules
            .iter()
            .map(|s| SamplerFigures::of(board, s.device, s.unit))
            .collect();
        let work = |job: &Job| {
            let schedule = &schedules[job.schedule];
            let sampler = samplers[job.schedule].as_ref();
            let channel = &board.channels[job.channel];
            let pin = sampler.map_or(0.0, |s| s.pin_farad);
            let straight = Straight::of(board, channel, sampler.map(|s| s.slowest), pin);
            let turn = &schedule.turns[job.turn];
            let noise = straight
                .as_ref()
                .map_err(Clone::clone)
                .and_then(|s| noise::noise(board, channel, s, schedule, turn, sampler));
            Made {
                channel: job.channel,
                straight,
                noise,
            }
        };
        let made = each(&jobs, &work);
        let mut channels = vec![Sampled::default(); board.channels.len()];
        for m in &made {
            let Some(channel) = channels.get_mut(m.channel) else {
                continue;
            };
            match &m.noise {
                Ok(noise) => channel.noise = Some(noise.clone()),
                Err(fault) => channel.no_noise.clone_from(&fault.message),
            }
        }
        let straight = |i: usize| {
            let found = made.iter().find(|m| m.channel == i)?;
            found.straight.as_ref().ok()
        };
        let mut converters = Vec::new();
        for (schedule, sampler) in schedules.iter().zip(&samplers) {
            let scan = match sampler {
                Some(s) => settle::settled(board, schedule, s, &straight).map_err(|f| f.message),
                None => Err("its part states no sample capacitor".to_owned()),
            };
            if let Ok(scan) = &scan {
                for u in &scan.channels {
                    if let Some(channel) = channels.get_mut(u.channel) {
                        channel.settling = Some(u.clone());
                    }
                }
            }
            converters.push(Converter {
                schedule: schedule.clone(),
                scan,
            });
        }
        Timing {
            converters,
            channels,
        }
    }

    /// A channel by its number.
    #[must_use]
    pub fn channel(&self, i: usize) -> Option<&Sampled> {
        self.channels.get(i)
    }

    /// The converter a channel has its turn at, and which turn.
    #[must_use]
    pub fn turn(&self, channel: usize) -> Option<(&Converter, usize)> {
        self.converters.iter().find_map(|c| {
            let turn = c.schedule.turns.iter().position(|t| t.channel == channel)?;
            Some((c, turn))
        })
    }
}

/// One channel to be made straight.
#[derive(Clone, Copy, Debug)]
pub struct Job {
    channel: usize,
    schedule: usize,
    turn: usize,
}

/// One channel made straight.
pub struct Made {
    channel: usize,
    straight: Result<Straight, Unmodelled>,
    noise: Result<ChannelNoise, Unmodelled>,
}

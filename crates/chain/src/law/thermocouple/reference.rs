//! The reference functions of the ITS-90 for letter-designated thermocouples.
//!
//! Source of every number: G. W. Burns, M. G. Scroger, G. F. Strouse,
//! M. C. Croarkin, W. F. Guthrie, NIST Monograph 175 (1993), as distributed in
//! NIST Standard Reference Database 60; the functions of IEC 60584-1. Reference
//! junction at 0 °C, t in °C, emf in mV.

/// One stretch of a reference function.
pub(super) struct Piece {
    /// Lowest temperature, °C.
    pub from_c: f64,
    /// Highest temperature, °C.
    pub to_c: f64,
    /// Coefficients of the powers of t, constant first, mV/°Cⁿ.
    pub coefficients: &'static [f64],
    /// Adds a₀·exp(a₁·(t − a₂)²); type K above 0 °C.
    pub hump: Option<[f64; 3]>,
}

/// The reference function of one letter.
pub(super) struct Reference {
    /// The letter.
    pub letter: &'static str,
    /// Its stretches, from cold to hot, without gaps.
    pub pieces: &'static [Piece],
    /// From here up (°C) an emf has a single temperature.
    pub single_from_c: f64,
}

/// All letters.
pub(super) static REFERENCES: &[Reference] = &[
    Reference {
        letter: "B",
        single_from_c: 50.0,
        pieces: &[
            Piece {
                from_c: 0.0,
                to_c: 630.615,
                coefficients: &[
                    0.0,
                    -2.465_081_834_6e-4,
                    5.904_042_117_1e-6,
                    -1.325_793_163_6e-9,
                    1.566_829_190_1e-12,
                    -1.694_452_924e-15,
                    6.299_034_709_4e-19,
                ],
                hump: None,
            },
            Piece {
                from_c: 630.615,
                to_c: 1820.0,
                coefficients: &[
                    -3.893_816_862_1,
                    2.857_174_747e-2,
                    -8.488_510_478_5e-5,
                    1.578_528_016_4e-7,
                    -1.683_534_486_4e-10,
                    1.110_979_401_3e-13,
                    -4.451_543_103_3e-17,
                    9.897_564_082_1e-21,
                    -9.379_133_028_9e-25,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "E",
        single_from_c: -270.0,
        pieces: &[
            Piece {
                from_c: -270.0,
                to_c: 0.0,
                coefficients: &[
                    0.0,
                    5.866_550_870_8e-2,
                    4.541_097_712_4e-5,
                    -7.799_804_868_6e-7,
                    -2.580_016_084_3e-8,
                    -5.945_258_305_7e-10,
                    -9.321_405_866_7e-12,
                    -1.028_760_553_4e-13,
                    -8.037_012_362_1e-16,
                    -4.397_949_739_1e-18,
                    -1.641_477_635_5e-20,
                    -3.967_361_951_6e-23,
                    -5.582_732_872_1e-26,
                    -3.465_784_201_3e-29,
                ],
                hump: None,
            },
            Piece {
                from_c: 0.0,
                to_c: 1000.0,
                coefficients: &[
                    0.0,
                    5.866_550_871e-2,
                    4.503_227_558_2e-5,
                    2.890_840_721_2e-8,
                    -3.305_689_665_2e-10,
                    6.502_440_327e-13,
                    -1.919_749_550_4e-16,
                    -1.253_660_049_7e-18,
                    2.148_921_756_9e-21,
                    -1.438_804_178_2e-24,
                    3.596_089_948_1e-28,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "J",
        single_from_c: -210.0,
        pieces: &[
            Piece {
                from_c: -210.0,
                to_c: 760.0,
                coefficients: &[
                    0.0,
                    5.038_118_781_5e-2,
                    3.047_583_693e-5,
                    -8.568_106_572e-8,
                    1.322_819_529_5e-10,
                    -1.705_295_833_7e-13,
                    2.094_809_069_7e-16,
                    -1.253_839_533_6e-19,
                    1.563_172_569_7e-23,
                ],
                hump: None,
            },
            Piece {
                from_c: 760.0,
                to_c: 1200.0,
                coefficients: &[
                    296.456_256_81,
                    -1.497_612_778_6,
                    3.178_710_392_4e-3,
                    -3.184_768_670_1e-6,
                    1.572_081_900_4e-9,
                    -3.069_136_905_6e-13,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "K",
        single_from_c: -270.0,
        pieces: &[
            Piece {
                from_c: -270.0,
                to_c: 0.0,
                coefficients: &[
                    0.0,
                    3.945_012_802_5e-2,
                    2.362_237_359_8e-5,
                    -3.285_890_678_4e-7,
                    -4.990_482_877_7e-9,
                    -6.750_905_917_3e-11,
                    -5.741_032_742_8e-13,
                    -3.108_887_289_4e-15,
                    -1.045_160_936_5e-17,
                    -1.988_926_687_8e-20,
                    -1.632_269_748_6e-23,
                ],
                hump: None,
            },
            Piece {
                from_c: 0.0,
                to_c: 1372.0,
                coefficients: &[
                    -1.760_041_368_6e-2,
                    3.892_120_497_5e-2,
                    1.855_877_003_2e-5,
                    -9.945_759_287_4e-8,
                    3.184_094_571_9e-10,
                    -5.607_284_488_9e-13,
                    5.607_505_905_9e-16,
                    -3.202_072_000_3e-19,
                    9.715_114_715_2e-23,
                    -1.210_472_127_5e-26,
                ],
                hump: Some([1.185_976e-1, -1.183_432e-4, 126.9686]),
            },
        ],
    },
    Reference {
        letter: "N",
        single_from_c: -270.0,
        pieces: &[
            Piece {
                from_c: -270.0,
                to_c: 0.0,
                coefficients: &[
                    0.0,
                    2.615_910_596_2e-2,
                    1.095_748_422_8e-5,
                    -9.384_111_155_4e-8,
                    -4.641_203_975_9e-11,
                    -2.630_335_771_6e-12,
                    -2.265_343_800_3e-14,
                    -7.608_930_079_1e-17,
                    -9.341_966_783_5e-20,
                ],
                hump: None,
            },
            Piece {
                from_c: 0.0,
                to_c: 1300.0,
                coefficients: &[
                    0.0,
                    2.592_939_460_1e-2,
                    1.571_014_188e-5,
                    4.382_562_723_7e-8,
                    -2.526_116_979_4e-10,
                    6.431_181_933_9e-13,
                    -1.006_347_151_9e-15,
                    9.974_533_899_2e-19,
                    -6.086_324_560_7e-22,
                    2.084_922_933_9e-25,
                    -3.068_219_615_1e-29,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "R",
        single_from_c: -50.0,
        pieces: &[
            Piece {
                from_c: -50.0,
                to_c: 1064.18,
                coefficients: &[
                    0.0,
                    5.289_617_297_65e-3,
                    1.391_665_897_82e-5,
                    -2.388_556_930_17e-8,
                    3.569_160_010_63e-11,
                    -4.623_476_662_98e-14,
                    5.007_774_410_34e-17,
                    -3.731_058_861_91e-20,
                    1.577_164_823_67e-23,
                    -2.810_386_252_51e-27,
                ],
                hump: None,
            },
            Piece {
                from_c: 1064.18,
                to_c: 1664.5,
                coefficients: &[
                    2.951_579_253_16,
                    -2.520_612_513_32e-3,
                    1.595_645_018_65e-5,
                    -7.640_859_475_76e-9,
                    2.053_052_910_24e-12,
                    -2.933_596_681_73e-16,
                ],
                hump: None,
            },
            Piece {
                from_c: 1664.5,
                to_c: 1768.1,
                coefficients: &[
                    152.232_118_209,
                    -2.688_198_885_45e-1,
                    1.712_802_804_71e-4,
                    -3.458_957_064_53e-8,
                    -9.346_339_710_46e-15,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "S",
        single_from_c: -50.0,
        pieces: &[
            Piece {
                from_c: -50.0,
                to_c: 1064.18,
                coefficients: &[
                    0.0,
                    5.403_133_086_31e-3,
                    1.259_342_897_4e-5,
                    -2.324_779_686_89e-8,
                    3.220_288_230_36e-11,
                    -3.314_651_963_89e-14,
                    2.557_442_517_86e-17,
                    -1.250_688_713_93e-20,
                    2.714_431_761_45e-24,
                ],
                hump: None,
            },
            Piece {
                from_c: 1064.18,
                to_c: 1664.5,
                coefficients: &[
                    1.329_004_440_85,
                    3.345_093_113_44e-3,
                    6.548_051_928_18e-6,
                    -1.648_562_592_09e-9,
                    1.299_896_051_74e-14,
                ],
                hump: None,
            },
            Piece {
                from_c: 1664.5,
                to_c: 1768.1,
                coefficients: &[
                    146.628_232_636,
                    -2.584_305_167_52e-1,
                    1.636_935_746_41e-4,
                    -3.304_390_469_87e-8,
                    -9.432_236_906_12e-15,
                ],
                hump: None,
            },
        ],
    },
    Reference {
        letter: "T",
        single_from_c: -270.0,
        pieces: &[
            Piece {
                from_c: -270.0,
                to_c: 0.0,
                coefficients: &[
                    0.0,
                    3.874_810_636_4e-2,
                    4.419_443_434_7e-5,
                    1.184_432_310_5e-7,
                    2.003_297_355_4e-8,
                    9.013_801_955_9e-10,
                    2.265_115_659_3e-11,
                    3.607_115_420_5e-13,
                    3.849_393_988_3e-15,
                    2.821_352_192_5e-17,
                    1.425_159_477_9e-19,
                    4.876_866_228_6e-22,
                    1.079_553_927e-24,
                    1.394_502_706_2e-27,
                    7.979_515_392_7e-31,
                ],
                hump: None,
            },
            Piece {
                from_c: 0.0,
                to_c: 400.0,
                coefficients: &[
                    0.0,
                    3.874_810_636_4e-2,
                    3.329_222_788e-5,
                    2.061_824_340_4e-7,
                    -2.188_225_684_6e-9,
                    1.099_688_092_8e-11,
                    -3.081_575_877_2e-14,
                    4.547_913_529e-17,
                    -2.751_290_167_3e-20,
                ],
                hump: None,
            },
        ],
    },
];

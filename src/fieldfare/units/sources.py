"""The bibliography: one place that says where a number comes from and how the source was seen.

Most standards are sold, so most of their values were taken from pages that quote them; the note says what was read.
"at first hand" means that the publisher's own page was read. docs/sources.md is made from this table.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

PRACTICE = "common practice, no source"

Seen = Literal["at first hand", "quoted by another", "from memory"]


class Source(NamedTuple):
    """A published source, and how it was seen by whoever wrote the check."""

    title: str
    seen: Seen
    note: str = ""


SOURCES: dict[str, Source] = {
    "definition": Source("Follows from the definition of the unit or by arithmetic alone", "at first hand"),
    # levels and noise
    "AES17": Source(
        "AES17, measurement of digital audio equipment: a full-scale sine reads 0 dBFS rms",
        "quoted by another",
        "the glossary of a maker of measuring gear, and an answer by a mastering engineer",
    ),
    "dBu": Source("Decibel relative to the voltage of 1 mW in 600 Ω, 0.7746 V", "quoted by another"),
    "EBUR68": Source(
        "EBU R68-2000, alignment level in digital audio production equipment",
        "quoted by another",
        "three articles; only the considerations were read, not the recommendation itself",
    ),
    "IEC60268-4": Source("IEC 60268-4, microphones", "quoted by another", "an open library's example report"),
    "IEC61672": Source(
        "IEC 61672-1:2013, sound level meters, table 3 and annex E",
        "quoted by another",
        "a table of A- and C-weighting on a course's page",
    ),
    "LevelSums": Source("Decibel values: sum and difference, lecture slides", "at first hand"),
    "PreampMatching": Source(
        "Selecting the right preamp for your microphone, page 4, table 3",
        "at first hand",
        'says that a noise 10 dB lower adds "less than 0.4 dB"; it adds 0.414',
    ),
    "PreampMatching2": Source(
        "Matching microphones and preamps, page 2",
        "at first hand",
        "takes 5 dB off thermal noise for A-weighting and calls that arbitrary; white noise drops by 2.05 dB",
    ),
    "ProAudioList": Source("A professional audio list, June 2021, on thermal and preamplifier noise", "at first hand"),
    "SSE": Source("Sound System Engineering, section 2.13, page 55", "at first hand", "the page as a scan"),
    "TransferFactor": Source(
        "Microphone sensitivity: transfer factor and transfer level, a reference page", "at first hand"
    ),
    "MicWorkedCheck": Source(
        "A worked check of microphone sensitivity against a published output voltage, a forum post", "at first hand"
    ),
    "VoltCalculator": Source(
        "A dBu calculator that shows 1.28 mW for 0.775 V in 600 Ω", "at first hand", "kept as a warning: it is 1.00 mW"
    ),
    # lines and phantom power
    "Bridging": Source(
        "Impedance bridging, an encyclopaedia's article, and a question with its worked answer", "at first hand"
    ),
    "CableDamping": Source(
        "Cable length and treble damping, a reference page and three worked examples", "at first hand"
    ),
    "IEC61938": Source(
        "IEC 61938:2018, multimedia systems: interconnection, phantom power",
        "quoted by another",
        "a magazine's glossary; P24's tolerance and current from memory; P12's tolerance is disputed",
    ),
    "AES14": Source("AES14-1992, polarity and gender of XLR connectors: an output is male", "quoted by another"),
    "UnbalancedRuns": Source(
        "Recording music, a page on cables: unbalanced runs up to 30 ft",
        "at first hand",
        "other pages say less and more",
    ),
    "StageSetup": Source(
        "Getting your stage together, a magazine's article, and a page on stage set-up: slack at the foot of the stand",
        "quoted by another",
    ),
    "Splitters": Source("Phantom power and microphone splitters, and a second article on splitters", "at first hand"),
    # acoustics and microphones
    "EnergyRelations1988": Source(
        "Energy relations in concert auditoriums I, JASA 84, 618 (1988)",
        "from memory",
        "agrees within 1 dB with mirror images of box-shaped rooms",
    ),
    "CriticalDistance": Source("Critical distance, help of an acoustics program", "at first hand"),
    "HyperPhysics": Source(
        "HyperPhysics, microphone patterns and wire tables", "at first hand", "takes 0.375 for supercardioid"
    ),
    "InverseSquare": Source(
        "Inverse square law, tables of a training course in audiovisual mathematics", "at first hand"
    ),
    "ISO3382-1": Source(
        "ISO 3382-1:2009, room acoustic parameters: the middle frequencies are the mean of 500 and 1000 Hz",
        "quoted by another",
        "an open library's example report",
    ),
    "ISO9613-1": Source(
        "ISO 9613-1:1993, attenuation of sound outdoors: speed of sound",
        "quoted by another",
        "an open library; its text prints T/T0 where its code has the square root",
    ),
    "MasterHandbook": Source(
        "Master Handbook of Acoustics, pages 188, 198, 201 and 202",
        "at first hand",
        "page 198 says that a difference of 9 dB keeps the ripple of a comb within 1 dB; it does not",
    ),
    "MicBook": Source("The Microphone Book, table 6-1", "quoted by another", "a text extract of the book"),
    "PhysicalAudio": Source("Speed of sound in air, a university's online book on physical audio", "at first hand"),
    "RoomAcoustics": Source("Reverberation time, lecture exercise and a second page for the constant", "at first hand"),
    "SpeechDistance": Source(
        "An answer on speech at 1 and at 12 inches", "at first hand", "94 dB stated, 95.6 by the law"
    ),
    "StageLevels": Source("The house versus stage sound levels, a magazine's article", "at first hand"),
    "StereoPreprint": Source(
        "AES preprint 2072, Paris 1984: the stereophonic zoom",
        "quoted by another",
        "criterion 15 dB, angles differ from later",
    ),
    "StereoQuestions": Source("Stereo microphone techniques, a magazine's series and answers", "at first hand"),
    # mains
    "AWG": Source(
        "American wire gauge and copper wire tables at 20 °C (ASTM B258)", "quoted by another", "a university's table"
    ),
    "BatteryRunTime": Source("Battery run time, two worked examples", "at first hand"),
    "CordProblems": Source("Extension cords, two physics problems and a worked page", "at first hand"),
    "GeneratorTables": Source(
        "Derating tables of a generator's manual", "at first hand", "makers differ; some take 3.5 % for each 300 m"
    ),
    "IEC60228": Source(
        "IEC 60228:2004, conductors of insulated cables",
        "quoted by another",
        'two pages; one heads the table "minimum" where the values are maxima',
    ),
    "NEC210": Source("NEC 210.19 and 210.20, continuous loads and voltage drop", "quoted by another"),
    # hearing
    "NIOSH98-126": Source(
        "NIOSH 98-126, occupational noise exposure, table 1-1", "quoted by another", "two pages that agree"
    ),
    "WHOVenues": Source("WHO global standard for safe listening venues and events, 2022", "quoted by another"),
    # lifting
    "CCOHS": Source("CCOHS, NIOSH lifting equation: frequency and a worked example", "at first hand"),
    "HSEFilters": Source(
        "HSE L23 and INDG143, manual handling risk filters, figure 20",
        "quoted by another",
        "25 and 16 kg from a guide; filters, not limits",
    ),
    "HSEHandling": Source("HSE guidance on handling while twisting, often, carrying and pushing", "quoted by another"),
    "LiftExercise": Source("An answered exercise on the NIOSH lifting equation", "at first hand"),
    "NIOSH94-110": Source(
        "NIOSH 94-110, applications manual for the revised lifting equation",
        "quoted by another",
        "several transcriptions that agree; the official worked examples and some limits of range from memory",
    ),
    # media
    "BS2088": Source("ITU-R BS.2088, long-form file format (BW64)", "quoted by another", "two public transcriptions"),
    "EBU3285": Source(
        "EBU Tech 3285 v2, broadcast wave format, May 2011", "at first hand", "a stored copy of the full text"
    ),
    "iXML": Source("iXML, object details and usage guidelines, the format's own pages", "at first hand"),
    "RFC9639": Source("RFC 9639, Free Lossless Audio Codec (FLAC), December 2024", "quoted by another"),
    "RIFF1991": Source("Multimedia programming interface and data specifications 1.0, 1991", "quoted by another"),
    "ClipRuns": Source(
        "How to detect clipping, a question with answers: three or more samples at full scale, or more than seven",
        "at first hand",
        "practice only; no standard gives a number",
    ),
    "EN50160": Source(
        "EN 50160, voltage characteristics of public supply: ±1 % for 99.5 % of a year",
        "quoted by another",
        "the manuals of two makers of meters, which agree",
    ),
    "Interstitial": Source(
        "FADGI guideline on interstitial errors: samples lost or altered between converter and file", "at first hand"
    ),
    "VaseghiRayner1990": Source(
        "IEE Proceedings 137 pt. I, 38 (1990), detection and suppression of impulsive noise by linear prediction",
        "from memory",
        "that ticks are what prediction leaves; our thresholds are our own",
    ),
    "Itakura1975": Source(
        "IEEE Trans. ASSP 23(1), 67 (1975), minimum prediction residual as a distance of spectra",
        "from memory",
        "the distance; our threshold is our own",
    ),
    "GCC1976": Source(
        "IEEE Trans. ASSP 24(4), 320 (1976), generalised correlation for delay",
        "quoted by another",
        "an index page; page numbers from memory",
    ),
    "EBU3306": Source("EBU Tech 3306, RF64: an extended file format for audio", "quoted by another"),
    "exFAT": Source("exFAT file system specification, section 1", "at first hand"),
    "FAT32": Source("File size limits, a vendor's knowledge base: 4 294 967 295 bytes", "at first hand"),
    # loudness and picture
    "BS1770": Source(
        "ITU-R BS.1770-5, algorithms to measure programme loudness and true-peak level",
        "quoted by another",
        "public transcriptions that agree; the weight behind the listener from an open media library's meter",
    ),
    "BS2217": Source(
        "ITU-R BS.2217, compliance material for BS.1770 meters", "quoted by another", "names and targets only"
    ),
    "EBU3341": Source(
        "EBU Tech 3341 v4, November 2023, loudness metering: EBU mode, table 1",
        "quoted by another",
        "four public transcriptions that agree",
    ),
    "EBU3342": Source(
        "EBU Tech 3342 v4, November 2023, loudness range", "at first hand", "a stored copy of the full text"
    ),
    "libebur128": Source("libebur128, a public loudness meter: its filters in closed form", "at first hand"),
    # sheets and drawings
    "IEC60062": Source(
        "IEC 60062, marking codes: the ten colours of the digits", "quoted by another", "two pages that agree"
    ),
    "IEC60617": Source(
        "IEC 60617, graphical symbols for diagrams: microphone, amplifier, transformer, converter, plug and socket",
        "from memory",
    ),
    "ISO216": Source(
        "ISO 216, trimmed sizes of writing paper: A4 is 210 mm by 297 mm",
        "quoted by another",
        "the typesetting library's own sizes",
    ),
    "ISO7200": Source("ISO 7200:2004, data fields in title blocks and document headers", "from memory"),
    "ISO18004": Source("ISO/IEC 18004, QR code symbology", "from memory"),
    # papers and parcels
    "EN16931": Source(
        "EN 16931-1:2017, core elements of an electronic invoice: the order of its sums",
        "quoted by another",
        "rules BR-CO-10, 13, 15 and 16 of the public validation, in several transcriptions",
    ),
    "RFC8493": Source(
        "RFC 8493, the BagIt file packaging format, version 1.0, October 2018",
        "quoted by another",
        "its authors' own text in editions before the last; that a percent sign is escaped from memory",
    ),
    # safety
    "HSEElectrical": Source(
        "HSE INDG247, electrical safety for entertainers",
        "quoted by another",
        "a copy of the leaflet; figure 1 for the currents",
    ),
    "HSEGS50": Source("HSE GS50, electrical safety at places of entertainment, 2014", "quoted by another"),
    "EventSafety": Source("Electrical safety at events, pages of two councils", "quoted by another"),
    "LimiterPage": Source("A band's technical page: sound limiters that cut stage power", "quoted by another"),
    "HSERCD": Source("HSE advice on residual current devices", "quoted by another", "a copy of the page"),
    "ReelAdvice": Source("Extension reels, a safety charity's page and a photograph of a melted reel", "at first hand"),
    # spares
    "KofN": Source("k-out-of-n configuration, a page on reliability after MIL-HDBK-338", "at first hand"),
    "InstrumentLevels": Source(
        "A list of instrument levels in a city's leaflet on musicians' hearing",
        "quoted by another",
        "distance not stated",
    ),
    # Planning mathematics
    "ManagementScience": Source("Introduction to Management Science, chapter 8, solutions", "at first hand"),
    "PERTSolved": Source(
        "A textbook's solved problem on three-point estimates",
        "at first hand",
        "prints 0.9633 for a probability that is 0.9632",
    ),
    "PERTSlides": Source("PERT and CPM, a course's slides: a network of ten activities", "at first hand"),
    "AssignmentDocs": Source("linear_sum_assignment, documentation of a scientific library", "at first hand"),
    "HungarianArticle": Source("Hungarian algorithm, an encyclopaedia's article", "at first hand"),
    "AssignmentGuide": Source("Solving an assignment problem, an optimisation library's guide", "at first hand"),
    "AssignmentTests": Source(
        "Public test code of an assignment solver", "at first hand", "prints 4 for a table whose least sum is 5"
    ),
    "AssignmentTextbook": Source("Assignment tables of a textbook site", "from memory", "optimum computed afresh"),
    "AssignmentRatings": Source(
        "Ratings of men for jobs, the paper that named the Hungarian method, 1955",
        "from memory",
        "optimum computed afresh",
    ),
}

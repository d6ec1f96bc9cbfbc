"""
What attacks what, as the facts tell it: common practice but for its notes. S safe, C with care, N never.

Kept apart from the tables, so that a slip in writing the matrix shows.
"""

AGENTS = [
    "naphtha",
    "propan-2-ol",
    "ethanol",
    "acetone",
    "ammoniated-cleaner",
    "detergent",
    "citric-acid",
    "oxalic-acid",
    "phosphoric-acid",
    "edta",
    "vinegar",
    "bicarbonate",
    "tannic-converter",
    "metal-polish",
    "peroxide-ammonia",
    "water",
]

LETTERS = {
    "brass bronze nickel-silver": "SSSSCSCCCCCSCCNS",
    "stressed-brass": "SSSSNSCCCCCSCNNS",
    "lacquered-brass": "SCNNNCNNNCNCNNNS",
    "copper": "SSSSNSCCCCCSCCNS",
    "steel": "SSSSSCCCCCCSCCCC",
    "blued-steel": "SSSSCCNNNNNSNNCC",
    "stainless-steel": "SSSSSSSSSSSSSCSS",
    "aluminium": "SSSSCSCCCCCCNCCS",
    "anodised-aluminium": "SSSCNSCNNCCCNNNS",
    "zinc-die-cast": "SSSSNCNNNNNCNCNC",
    "magnesium": "SCCSCCNNNNNCNCNC",
    "nickel-plate": "SSSSCSCCCCCSCCNS",
    "chromium-plate": "SSSSSSSCCSSSSCSS",
    "cadmium-plate zinc-plate": "SSSSCSNNNNNCNNNS",
    "silver-plate": "SSSSCSCCCCCSCCCS",
    "soft-solder": "SSSSCSCCCCNSCCCS",
    "stoved-enamel": "SCCNCSCCCCCSCCCS",
    "nitro-lacquer": "SCNNNCCCCCCCCNNS",
    "paint-fill": "CCNNNCCCCCCCCNNS",
    "shellac": "SNNCNCCCCNCNCCNC",
    "balsam": "CCCNCCCCCCCCCNCC",
    "coated-glass": "CSSCCCNNNCCCNNCS",
    "glass": "SSSSCSCCCNCCNNCS",
    "silvered-mirror": "NNNNNNNNNNNNNNNN",
    "phenolic": "SSCCNSCCCCCCCCNS",
    "cellulose-acetate": "SCNNNCNNNCNCNCNC",
    "celluloid": "SCNNNCNNNCNCNCNC",
    "acrylic polystyrene": "CCCNCSSCCSSSCCCS",
    "pvc-cloth": "CCCNCSCCCCCSCNCS",
    "leather": "CCCNNCNNNNNNNNNC",
    "curtain-cloth": "NCCNNCNNNNNCNNNC",
    "selenium-cell": "NNNNNNNNNNNNNNNN",
    "coil": "SCCNNNNNNNNCNNNC",
}

#: Where the matrix is stricter than the facts, and why.
STRICTER = {
    (
        "naphtha",
        "polystyrene",
    ): "petroleum cracks polystyrene under strain; the facts speak of acrylic and polystyrene together",
}

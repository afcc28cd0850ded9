"""The words schedules put over their columns, in English and Spanish, by the fact they head.

In small letters without accents or punctuation, as `plain_words` leaves them. Where two columns could head the same
fact, the one whose words stand further in front is proposed; a person settles it in any case.
"""

from sitetrack.kit.lengths import Unit

HEADING_WORDS: dict[str, tuple[str, ...]] = {
    "number": (
        "opening number", "opening no", "opening", "door number", "door numbers", "door no", "door nos", "door num",
        "door mark", "door tag", "door id", "door", "dr no", "opng no", "opng", "number", "no", "mark", "tag",
        "door opening number", "door opening no", "component tag", "numero de puerta", "no de puerta", "puerta no",
        "n puerta", "puerta", "numero de vano", "vano", "numero", "clave", "clave de puerta",
    ),
    "building": ("building", "bldg", "building name", "block", "edificio", "torre"),
    "floor": (
        "floor", "level", "storey", "story", "floor level", "floor no", "flr", "lvl", "nivel", "piso", "planta",
    ),
    "size": (
        "size", "door size", "opening size", "nominal size", "frame size", "door opening size", "size w x h",
        "size wxh", "width x height", "w x h", "wxh", "dimensions", "nominal door size", "medida", "medidas", "tamano",
        "dimensiones", "ancho x alto",
    ),
    "width": (
        "opening width", "width", "door width", "frame width", "nominal width", "size width", "size w",
        "door size width", "door size w", "rough width", "w", "wd", "ancho", "ancho de puerta", "ancho de vano",
    ),
    "height": (
        "opening height", "height", "door height", "frame height", "nominal height", "size height", "size h",
        "door size height", "door size h", "rough height", "h", "ht", "hgt", "alto", "altura", "alto de puerta",
        "alto de vano",
    ),
    "leaves": ("leaves", "number of leaves", "no of leaves", "leafs", "single pair", "sgl pr", "pair", "qty leaves",
               "hojas", "numero de hojas"),
    "mark": (
        "frame type", "frame elevation", "frame elev", "frame mark", "frm type", "frm", "frame", "tipo de marco",
        "marco", "marco tipo",
    ),
    "frame_material": ("frame material", "frame matl", "frm material", "frm matl", "frame mat", "material of frame",
                       "material de marco", "material del marco", "marco material"),
    "construction": ("frame construction", "construction", "assembly", "frame assembly", "welded kd", "kd welded",
                     "fabrication", "construccion"),
    "hand": ("hand", "handing", "hnd", "swing", "door hand", "door swing", "mano", "sentido de giro", "apertura"),
    "jamb_depth": (
        "jamb depth", "frame depth", "throat", "throat size", "jamb", "jamb width", "frame throat", "wall thickness",
        "profundidad de marco", "profundidad", "fondo de marco", "garganta",
    ),
    "wall": ("wall type", "wall", "partition type", "partition", "wall construction", "tipo de muro", "muro",
             "tipo de pared"),
    "rating": (
        "fire rating", "fire rtg", "fire rate", "rating", "fire label", "label", "fire", "rated", "fire resistance",
        "ul label", "fire rating min", "fire rating minutes", "rating min", "door rating", "frame label",
        "resistencia al fuego", "clasificacion al fuego", "rf",
    ),
    "electrified": (
        "electrified", "electrified hardware", "elec", "el", "electric", "electrical", "elec hdwr",
        "electric hardware", "power", "access control", "card reader", "electrificado", "electrificada",
        "control de acceso",
    ),
    "hardware_set": (
        "hardware set", "hdwr set", "hdw set", "hw set", "hwset", "hardware group", "hardware", "hdwr", "hdw", "hw",
        "hdwe set", "hdwe", "hardware set no", "hdwr group", "hdw group", "hw group",
        "hwset no", "set", "herrajes", "juego de herrajes",
        "grupo de herrajes",
    ),
    "covering": (
        "floor covering", "floor finish", "finish floor", "flooring", "fin floor", "fin flr", "covering",
        "piso terminado", "acabado de piso", "recubrimiento",
    ),
    "covering_thickness": ("covering thickness", "floor covering thickness", "flooring thickness",
                           "finish floor thickness", "espesor de piso"),
    "room_from": ("from room", "room from", "from", "from space", "from room name", "de", "de local", "desde"),
    "room_to": ("to room", "room to", "to", "to space", "room name", "room", "location", "room no", "to room name", "a",
                "a local", "hacia", "local", "ubicacion"),
    "remarks": ("remarks", "comments", "notes", "remark", "comment", "note", "observaciones", "notas", "comentarios"),
    "source_key": ("globalid", "global id", "ifc guid", "guid", "ifcguid", "model key"),
    "x": ("x", "x m", "coord x", "easting"),
    "y": ("y", "y m", "coord y", "northing"),
}  # fmt: skip

# Words that belong to a column of the leaf and not of the frame or opening, and would mislead.
LEAF_ONLY = {"glass", "glazing", "lite", "panel", "louver", "thickness", "thk", "finish", "material", "matl", "head",
             "sill", "detail", "keying", "undercut", "vidrio", "acabado", "material de puerta"}  # fmt: skip

UNIT_IN_HEADING: dict[str, Unit] = {
    "mm": "mm", "cm": "cm", "m": "m", "in": "in", "inches": "in", "inch": "in", "ft": "ft", "feet": "ft",
}  # fmt: skip

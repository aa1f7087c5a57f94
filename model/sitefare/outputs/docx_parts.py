"""Which parts of the shipped house style are plain text that never varies?

Content types, relations, settings, list numbers, fonts, running head and foot, as they stand in
the file that `docx_reference` packs.
"""

from sitefare.outputs import theme

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
WORD = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
KIND = "application/vnd.openxmlformats-officedocument.wordprocessingml"

#: Parts in word/ that document.xml leads to: relation and content type.
LED_TO = {
    "rId1": "styles",
    "rId2": "settings",
    "rId3": "numbering",
    "rId4": "header",
    "rId5": "footer",
    "rId6": "fontTable",
}

#: What a machine without our font takes in its place.
INSTEAD = "Segoe UI"

TYPES = (
    f'{HEAD}<Types xmlns="{PACKAGE}/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="xml" ContentType="application/xml"/>'
    f'<Override PartName="/word/document.xml" ContentType="{KIND}.document.main+xml"/>'
    + "".join(
        f'<Override PartName="/word/{name}.xml" ContentType="{KIND}.{name}+xml"/>'
        for name in LED_TO.values()
    )
    + '<Override PartName="/docProps/core.xml" '
    'ContentType="application/vnd.openxmlformats-package.core-properties+xml"/>'
    "</Types>"
)

RELATIONS = {
    "_rels/.rels": (
        f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="rId1" Type="{OFFICE}/relationships/officeDocument" Target="word/document.xml"/>'
        f'<Relationship Id="rId2" Type="{PACKAGE}/relationships/metadata/core-properties" '
        'Target="docProps/core.xml"/></Relationships>'
    ),
    "word/_rels/document.xml.rels": (
        f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships">'
        + "".join(
            f'<Relationship Id="{key}" Type="{OFFICE}/relationships/{name}" Target="{name}.xml"/>'
            for key, name in LED_TO.items()
        )
        + "</Relationships>"
    ),
}


def _running(style: str, left: str, right: str) -> str:
    """Return a running head or foot: words at the start of the line, words at its end."""
    sides = (("start", 4000, left, "left"), ("end", 1000, right, "right"))
    cells = "".join(
        f'<w:tc><w:tcPr><w:tcW w:w="{share}" w:type="pct"/></w:tcPr>'
        f'<w:p><w:pPr><w:pStyle w:val="{style}"/><w:jc w:val="{align}"/></w:pPr>{words}</w:p></w:tc>'
        for _, share, words, align in sides
    )
    return (
        '<w:tbl><w:tblPr><w:tblW w:w="5000" w:type="pct"/>'
        '<w:tblCellMar><w:left w:w="0" w:type="dxa"/><w:right w:w="0" w:type="dxa"/></w:tblCellMar>'
        '<w:tblLook w:val="0000" w:firstRow="0" w:lastRow="0" w:firstColumn="0" w:lastColumn="0" '
        'w:noHBand="1" w:noVBand="1"/></w:tblPr><w:tblGrid><w:gridCol w:w="7530"/><w:gridCol w:w="1882"/>'
        f"</w:tblGrid><w:tr>{cells}</w:tr></w:tbl>"
        f'<w:p><w:pPr><w:pStyle w:val="{style}"/><w:spacing w:before="0" w:after="0" w:line="20" '
        'w:lineRule="exact"/></w:pPr></w:p>'
    )


def _level(number: int, kind: str, shown: str, colour: str) -> str:
    """Return a list of one level."""
    return (
        f'<w:abstractNum w:abstractNumId="{number}"><w:multiLevelType w:val="singleLevel"/>'
        f'<w:lvl w:ilvl="0"><w:start w:val="1"/><w:numFmt w:val="{kind}"/><w:lvlText w:val="{shown}"/>'
        '<w:lvlJc w:val="left"/><w:pPr><w:ind w:left="255" w:hanging="255"/></w:pPr>'
        f'<w:rPr><w:color w:val="{colour[1:]}"/></w:rPr></w:lvl></w:abstractNum>'
    )


PARTS = {
    "word/settings.xml": (
        f'{HEAD}<w:settings {WORD}><w:zoom w:percent="100"/><w:defaultTabStop w:val="720"/>'
        '<w:characterSpacingControl w:val="doNotCompress"/><w:compat><w:compatSetting '
        'w:name="compatibilityMode" w:uri="http://schemas.microsoft.com/office/word" w:val="15"/>'
        '</w:compat><w:themeFontLang w:val="en-GB" w:bidi="ar-SA"/>'
        '<w:decimalSymbol w:val="."/><w:listSeparator w:val=","/></w:settings>'
    ),
    "word/numbering.xml": (
        f"{HEAD}<w:numbering {WORD}>{_level(1, 'bullet', '•', theme.MUTED)}"
        f"{_level(2, 'decimal', '%1.', theme.INK)}"
        '<w:num w:numId="1"><w:abstractNumId w:val="1"/></w:num>'
        '<w:num w:numId="2"><w:abstractNumId w:val="2"/></w:num></w:numbering>'
    ),
    "word/fontTable.xml": (
        f'{HEAD}<w:fonts {WORD}><w:font w:name="{theme.FAMILY}"><w:altName w:val="{INSTEAD}"/>'
        '<w:panose1 w:val="020B0502040504020204"/><w:charset w:val="00"/><w:family w:val="swiss"/>'
        '<w:pitch w:val="variable"/></w:font></w:fonts>'
    ),
    "word/header.xml": (
        f"{HEAD}<w:hdr {WORD}>"
        + _running(
            "Header",
            "<w:r><w:t>{title}</w:t></w:r>",
            '<w:r><w:rPr><w:rStyle w:val="DraftMark"/></w:rPr><w:t>{draft}</w:t></w:r>',
        )
        + "</w:hdr>"
    ),
    "word/footer.xml": (
        f"{HEAD}<w:ftr {WORD}>"
        + _running("Footer", "<w:r><w:t>{foot}</w:t></w:r>", "<w:r><w:t>{page}</w:t></w:r>")
        + "</w:ftr>"
    ),
    "docProps/core.xml": (
        f'{HEAD}<cp:coreProperties xmlns:cp="{PACKAGE}/metadata/core-properties" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/" '
        'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"><dc:title>House style</dc:title>'
        '<dcterms:created xsi:type="dcterms:W3CDTF">1980-01-01T00:00:00Z</dcterms:created>'
        '<dcterms:modified xsi:type="dcterms:W3CDTF">1980-01-01T00:00:00Z</dcterms:modified>'
        "</cp:coreProperties>"
    ),
}

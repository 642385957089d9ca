"""Files made from a drawing, its sheets and its sizes.

Each module turns what it is given into bytes and imports only its own library:

- ``svg``: a sheet (xml.etree)
- ``dxf``: a drawing at full size or to scale (ezdxf)
- ``pdf``: sheets of true paper size (matplotlib)
- ``csv``: the schedule of sizes (csv)
- ``png``: the straightened photo at print size (Pillow)
- ``files``: writes bytes so that a file is whole or not there
"""

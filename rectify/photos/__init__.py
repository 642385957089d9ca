"""Photo files: opened whatever their kind, turned upright once, doubted where there is cause.

file.py      what a program asks for: bytes or a path -> photo, or one sentence of refusal
photo.py     the photo: its size, its pixels, what the file says of the camera
pixels.py    any kind of picture -> upright 8-bit RGB, in bands, so that memory stays bounded
whole.py     whether the file is all there, before anything is filled in for what is missing
exif.py      what the camera wrote into the file
doubts.py    why a usable photo may still measure badly
pyramid.py   copies with less detail, to read from where the picture is coarser
"""

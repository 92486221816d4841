"""From blocks of sound to utterances that the station acts on."""

// turn_heic IN.heic CODE OUT.heic: writes the picture again with a rotation of its own (irot, imir) for the
// EXIF orientation CODE. heif-enc 1.15 cannot. Only make.sh uses this.
#include <libheif/heif.h>

#include <cstdio>
#include <cstdlib>

namespace {

void require(heif_error error)
{
    if (error.code == heif_error_Ok) return;
    std::fprintf(stderr, "%s\n", error.message);
    std::exit(1);
}

}  // namespace

int main(int argc, char** argv)
{
    if (argc != 4) return 1;
    heif_context* in = heif_context_alloc();
    require(heif_context_read_from_file(in, argv[1], nullptr));
    heif_image_handle* handle = nullptr;
    require(heif_context_get_primary_image_handle(in, &handle));
    heif_image* image = nullptr;
    require(heif_decode_image(handle, &image, heif_colorspace_undefined, heif_chroma_undefined, nullptr));

    heif_context* out = heif_context_alloc();
    heif_encoder* encoder = nullptr;
    require(heif_context_get_encoder_for_format(out, heif_compression_HEVC, &encoder));
    require(heif_encoder_set_lossy_quality(encoder, 90));
    heif_encoding_options* options = heif_encoding_options_alloc();
    options->image_orientation = static_cast<heif_orientation>(std::atoi(argv[2]));
    require(heif_context_encode_image(out, image, encoder, options, nullptr));
    require(heif_context_write_to_file(out, argv[3]));
}

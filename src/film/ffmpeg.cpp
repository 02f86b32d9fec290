#include "ffmpeg.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <optional>
#include <stdexcept>

#include "slipglass/error.h"
#include "slipglass/photo/picture_bytes.h"

namespace slipglass {

namespace {

/// A folder for one film's frames, gone at its end.
class FramesFolder {
public:
    FramesFolder()
    {
        std::string name = (std::filesystem::temp_directory_path() / "slipglass-film-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr)
            throw Error(name, "no folder can be made there", "Make room on the disk, or set TMPDIR");
        path_ = name;
    }
    ~FramesFolder()
    {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    FramesFolder(const FramesFolder&) = delete;
    FramesFolder& operator=(const FramesFolder&) = delete;

    std::filesystem::path operator/(const char* name) const { return path_ / name; }

private:
    std::filesystem::path path_;
};

std::string bytesOf(const std::filesystem::path& path)
{
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// All frames in one file, PNG after PNG.
void writeFrames(const std::vector<cv::Mat>& frames, const std::filesystem::path& path)
{
    std::ofstream file(path, std::ios::binary);
    for (const cv::Mat& frame : frames) {
        const std::string png = pngBytes(frame);
        file.write(png.data(), static_cast<std::streamsize>(png.size()));
    }
    file.close();
    if (!file) throw Error(path.string(), "cannot be written", "Make room on the disk, or set TMPDIR");
}

/// Runs a program found on PATH, what it says going to `log`. @return  its exit code; empty when there is no
/// such program.
std::optional<int> run(std::vector<std::string> command, const std::filesystem::path& log)
{
    std::vector<char*> argv;
    argv.reserve(command.size() + 1);
    for (std::string& word : command) argv.push_back(word.data());
    argv.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&files, STDERR_FILENO, log.c_str(), O_WRONLY | O_CREAT, 0600);
    pid_t pid = 0;
    const int problem = posix_spawnp(&pid, argv[0], &files, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&files);
    if (problem == ENOENT) return std::nullopt;
    if (problem != 0) return problem;
    int status = 0;
    while (waitpid(pid, &status, 0) < 0 && errno == EINTR) continue;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/// @return  how the codec is asked for stills that play everywhere and come out the same each time.
std::vector<std::string> codecFor(const std::string& ending)
{
    if (ending == ".mp4")
        return {"-c:v", "libx264", "-crf",      "20",         "-tune", "stillimage",
                "-bf",  "0",       "-movflags", "+faststart", "-f",    "mp4"};
    return {"-c:v", "libvpx-vp9", "-crf", "24", "-b:v", "0", "-row-mt", "0", "-f", "webm"};
}

std::string firstLine(const std::string& text)
{
    return text.substr(0, text.find('\n'));
}

}  // namespace

std::string videoByFfmpeg(const std::vector<cv::Mat>& frames, int frame_ms, const std::string& ending,
                          const std::filesystem::path& file)
{
    const FramesFolder folder;
    writeFrames(frames, folder / "frames");
    const std::filesystem::path video = folder / "video", log = folder / "log";
    std::vector<std::string> command{"ffmpeg",
                                     "-nostdin",
                                     "-hide_banner",
                                     "-loglevel",
                                     "error",
                                     "-f",
                                     "image2pipe",
                                     "-c:v",
                                     "png",
                                     "-framerate",
                                     "1000/" + std::to_string(frame_ms),
                                     "-i",
                                     "file:" + (folder / "frames").string(),
                                     "-an",
                                     "-pix_fmt",
                                     "yuv420p",
                                     "-threads",
                                     "1",
                                     "-fflags",
                                     "+bitexact",
                                     "-flags:v",
                                     "+bitexact",
                                     "-map_metadata",
                                     "-1"};
    for (const std::string& word : codecFor(ending)) command.push_back(word);
    command.push_back("file:" + video.string());
    const auto code = run(command, log);
    if (!code)
        throw Error(file.string(), "the program ffmpeg, which makes such films, is not installed",
                    "Install it (Debian: apt install ffmpeg), or give a name ending in .webp");
    if (*code != 0)
        throw Error(file.string(), "ffmpeg could not make it: " + firstLine(bytesOf(log)),
                    "Give a name ending in .webp");
    return bytesOf(video);
}

}  // namespace slipglass
